"""Gates open on what is shown, and on nothing else. Figures: common practice, no source."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tanks.science.decline import Ageing, is_declining, signs_of_decline
from tanks.science.gate_list import GATES, LIMITS
from tanks.science.gates import Measured, Records, Said, is_open, proofs

pytestmark = pytest.mark.once
NOW = datetime(2026, 3, 12, 9, tzinfo=UTC)


def ago(hours: float) -> datetime:
    return NOW - timedelta(hours=hours)


def low(*hours: float, value: float = 0.1) -> list[Measured]:
    return [Measured(ago(h), value) for h in sorted(hours, reverse=True)]


def ready(**other: object) -> Records:
    given = {
        "day": 21,
        "tests": {"ammonia_n": low(50, 1), "nitrite": low(50, 1)},
        "temperatures": [Measured(ago(h), 24) for h in (60, 40, 10)],
        "checkers": [(ago(12), "green")],
    }
    return Records(NOW, **{**given, **other})  # type: ignore[arg-type]


def states(records: Records, code: str = "G6", **own: float) -> dict[str, str]:
    return {p.asked.key: p.state for p in proofs(GATES[code], records, {}, own)}


def test_first_animals_may_come_when_all_five_are_shown() -> None:
    assert set(states(ready()).values()) == {"in"}


@pytest.mark.parametrize(
    ("changed", "missing"),
    [
        ({"day": 20}, "day"),
        ({"day": None}, "day"),
        ({"tests": {"ammonia_n": low(50, 1), "nitrite": low(40, 1)}}, "nitrite"),
        ({"tests": {"ammonia_n": low(1), "nitrite": low(50, 1)}}, "tan"),
        (
            {"tests": {"ammonia_n": [*low(50, 3), Measured(ago(1), 0.25)], "nitrite": low(50, 1)}},
            "tan",
        ),
        ({"tests": {"ammonia_n": [], "nitrite": low(50, 1)}}, "tan"),
        ({"temperatures": [Measured(ago(h), 24) for h in (40, 10)]}, "temperature"),
        ({"temperatures": [Measured(ago(60), 24), Measured(ago(5), 29)]}, "temperature"),
        ({"temperatures": [Measured(ago(60), 24)]}, "temperature"),
        ({"checkers": [(ago(30), "green"), (ago(6), "yellow")]}, "checker"),
        ({"checkers": []}, "checker"),
    ],
)
def test_one_that_is_not_shown_keeps_the_gate_shut(
    changed: dict[str, object], missing: str
) -> None:
    found = states(ready(**changed))
    assert [key for key, state in found.items() if state == "missing"] == [missing]


def test_what_lies_below_the_range_of_the_kit_counts_as_low() -> None:
    kit = [Measured(ago(50), 0.25, is_below=True), Measured(ago(1), 0.25, is_below=True)]
    assert states(ready(tests={"ammonia_n": kit, "nitrite": low(50, 1)}))["tan"] == "in"


def test_mature_media_open_it_a_week_earlier_and_a_gallery_may_ask_for_more() -> None:
    assert states(ready(day=14, has_mature_media=True))["day"] == "in"
    assert states(ready(day=13, has_mature_media=True))["day"] == "missing"
    assert states(ready(), animals_from_day=28)["day"] == "missing"
    assert states(ready(checkers=[], has_co2=False))["checker"] == "in"


def test_a_number_that_is_said_is_held_against_its_limit() -> None:
    said = {
        "rows": Said(NOW),
        "zone_photos": Said(NOW),
        "dry": Said(NOW, number=6),
    }
    assert is_open(proofs(GATES["G4"], Records(NOW), said, {}))
    late = {**said, "dry": Said(NOW, number=6.5)}
    lines = proofs(GATES["G4"], Records(NOW), late, {})
    assert not is_open(lines)
    assert "6.5 h" in lines[-1].because
    assert "6 h" in lines[-1].because
    passed = {**late, "dry": Said(NOW, text="misted without a pause", let_pass=True)}
    assert is_open(proofs(GATES["G4"], Records(NOW), passed, {}))


def test_what_was_said_not_to_be_so_is_missing() -> None:
    said = {"rows": Said(NOW, was_so=False, text="two lots are not known")}
    assert proofs(GATES["G4"], Records(NOW), said, {})[0].state == "missing"


def test_a_plain_no_will_do_where_either_answer_does() -> None:
    said = {"mature_media": Said(NOW, was_so=False), "filter": Said(NOW, was_so=False)}
    found = {p.asked.key: p.state for p in proofs(GATES["G5"], Records(NOW), said, {})}
    assert (found["mature_media"], found["filter"]) == ("in", "missing")


def test_a_trim_or_new_animals_put_the_show_off_for_a_week() -> None:
    records = Records(NOW, last={"trim": ago(6.9 * 24), "animals": ago(7 * 24)})
    found = states(records, "G7")
    assert (found["trim"], found["settled"]) == ("missing", "in")


@given(
    st.sampled_from(sorted(GATES)),
    st.sets(st.sampled_from([a.key for g in GATES.values() for a in g.asks])),
)
def test_letting_all_pass_opens_and_one_left_missing_shuts(code: str, left: set[str]) -> None:
    gate = GATES[code]
    said = {a.key: Said(NOW, let_pass=True, text="r") for a in gate.asks if a.key not in left}
    lines = proofs(gate, Records(NOW), said, {})
    never = {a.key for a in gate.asks if a.rule == "rest"}  # nothing on record is no hindrance
    assert is_open(lines) == (not ({a.key for a in gate.asks} & left - never))


def test_every_limit_that_a_gate_names_is_there_and_its_usual_figure_makes_sense() -> None:
    named = {a.limit for g in GATES.values() for a in g.asks if a.limit}
    assert named <= set(LIMITS)
    assert all(limit.low <= limit.number <= limit.high for limit in LIMITS.values())


def days_ago(*days: float) -> list[datetime]:
    return [NOW - timedelta(days=d) for d in days]


def test_two_signs_make_a_decline_and_what_nobody_can_tell_does_not_count() -> None:
    one = signs_of_decline(Ageing(bare_stems_percent=31), {})
    assert [s.key for s in one if s.shows] == ["bare_stems"]
    assert sum(s.shows is None for s in one) == 5
    assert not is_declining(one, {})
    two = signs_of_decline(Ageing(bare_stems_percent=31, age_months=18.1), {})
    assert is_declining(two, {})
    assert not is_declining(two, {"signs": 3})


def test_trims_that_come_twice_as_often_are_a_sign() -> None:
    first = days_ago(300, 279, 258, 237)
    assert _sign(Ageing(trims_at=[*first, *days_ago(30, 20)])).shows is True
    assert _sign(Ageing(trims_at=[*first, *days_ago(30, 19)])).shows is False
    assert _sign(Ageing(trims_at=first)).shows is None


def _sign(ageing: Ageing) -> object:
    return signs_of_decline(ageing, {})[0]


def test_scores_count_only_three_in_a_row() -> None:
    def shows(*algae: float) -> object:
        return next(s for s in signs_of_decline(Ageing(algae=algae), {}) if s.key == "algae").shows

    assert (shows(3, 3), shows(0, 3, 3, 4), shows(3, 2, 3)) == (None, True, False)
