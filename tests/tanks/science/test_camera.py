"""Fit for a camera, from when, and because of what. Figures: common practice, no source."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from tanks.science.camera import Facts, fitness
from tanks.science.gates import Said

pytestmark = pytest.mark.once
ON = date(2026, 3, 12)
THEN = datetime(2026, 3, 1, tzinfo=UTC)


def day(back: int) -> date:
    return ON - timedelta(days=back)


def ready(**other: object) -> Facts:
    given: dict[str, object] = {"last": {"glass": day(1), "change": day(3), "trim": day(10)}}
    return Facts(ON, "show", **{**given, **other})  # type: ignore[arg-type]


def last(**other: date) -> dict[str, date]:
    return {"glass": day(1), "change": day(3), **other}


def test_nothing_against_it_is_now_and_until_the_day_before_the_next_trim() -> None:
    assert fitness(ready(), {}).ready == "now"
    found = fitness(ready(planned={"trim": day(-4)}), {})
    assert (found.ready, found.last_on) == ("now", day(-3))


@pytest.mark.parametrize(
    ("changed", "key", "on"),
    [
        ({"last": last(trim=day(3))}, "trim", day(-4)),
        ({"last": last(trim=day(6))}, "trim", day(-1)),
        ({"last": last(animals=ON)}, "animals", day(-7)),
        ({"last": last(glass=day(3))}, "glass", None),
        ({"last": last(glass=day(3)), "planned": {"glass": day(-2)}}, "glass", day(-2)),
        ({"last": last(glass=day(3)), "planned": {"glass": day(5)}}, "glass", ON),
        ({"last": last(change=day(8)), "planned": {"change": day(-1)}}, "change", day(-1)),
        ({"last": {"glass": day(1)}}, "change", None),
        ({"algae": 2.0}, "algae", None),
        ({"against": ["pH is low."]}, "alert", None),
        ({"said": {"background": Said(THEN, number=78)}}, "background", None),
        ({"said": {"clear": Said(THEN, was_so=False)}}, "clear", None),
    ],
)
def test_what_stands_against_it_has_its_day_where_one_is_known(
    changed: dict[str, object], key: str, on: date | None
) -> None:
    found = fitness(ready(**changed), {})
    assert [one.key for one in found.failing] == [key]
    assert (found.ready, found.on) == ("open" if on is None else "from", on)


@pytest.mark.parametrize(
    "changed",
    [
        {"last": last(trim=day(7))},
        {"last": last(animals=day(7))},
        {"last": last(glass=day(2))},
        {"last": last(change=day(7))},
        {"algae": 1.0},
        {"said": {"background": Said(THEN, number=80)}},
        {"said": {"background": Said(THEN, number=10, text="cut for a class", let_pass=True)}},
        {"said": {"clear": Said(THEN)}},
    ],
)
def test_at_the_limit_or_let_pass_it_is_fit(changed: dict[str, object]) -> None:
    assert fitness(ready(**changed), {}).ready == "now"


def test_the_last_of_the_days_counts_and_one_without_a_day_leaves_it_open() -> None:
    both = {"last": last(trim=day(3), animals=day(1))}
    assert fitness(ready(**both), {}).on == day(-6)
    assert fitness(ready(**both, against=["pH is low."]), {}).on is None


def test_a_trim_that_is_planned_before_the_day_moves_it() -> None:
    found = fitness(ready(last=last(animals=day(3)), planned={"trim": day(-2)}), {})
    assert (found.on, found.failing[-1].key) == (day(-9), "trim_planned")


def test_stages_and_own_figures() -> None:
    assert fitness(Facts(ON, "vacant"), {}).failing[0].words == "Nothing stands in it."
    young = fitness(Facts(ON, "grow_in", "grow-in", last=last(), show_on=day(-20)), {})
    assert (young.ready, young.on) == ("from", day(-20))
    assert fitness(Facts(ON, "grow_in", "grow-in", last=last(), show_on=day(2)), {}).on is None
    own = {"days_since_trim": 2.5, "camera_glass_days": 0}
    found = fitness(ready(last=last(trim=day(2))), own)
    assert {one.key: one.until for one in found.failing} == {"trim": day(-1), "glass": None}
