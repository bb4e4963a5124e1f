"""A layout goes on when every proof is in or let pass, and says afterwards what was shown."""

from __future__ import annotations

from datetime import timedelta

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import AuditEntry
from tanks.models import GateThreshold, Stage, StageChange
from tanks.queries.gates import own_limits, scores, standing, words_of
from tanks.science.gate_list import GATES
from tanks.science.gates import Records
from tanks.services.gates import is_ready, pass_gates, say_at_gate, set_limit
from tanks.services.layouts import begin_layout
from tests.builders.gallery import AT, a_person, a_tank, an_owner

pytestmark = pytest.mark.django_db
LATER = AT + timedelta(hours=1)


@pytest.fixture
def layout():
    tank = a_tank("T09")
    return begin_layout(
        tank=tank, title="Weir", by=an_owner(tank.showroom), at=AT, stage=Stage.PLANTING
    )


def say_all(layout, by, *gates, leave=()):
    for code in gates:
        for asked in GATES[code].asks:
            if asked.key not in leave:
                say_at_gate(
                    tank=layout.tank, gate=code, key=asked.key, by=by, at=LATER, **_word(asked)
                )


def _word(asked):
    numbers = {"dry": 5, "warm": 24, "not_hot": 24}
    return {"number": numbers[asked.key]} if asked.is_number else {"text": "seen"}


def test_planted_and_flooded_begins_day_0_and_keeps_what_was_shown(layout):
    boss = an_owner(layout.showroom)
    say_all(layout, boss, "G4", "G5")
    layout = pass_gates(layout=layout, records=Records(LATER), by=boss, at=LATER)
    assert (layout.stage, layout.flooded_on) == (Stage.START_UP, LATER.date())
    change = StageChange.objects.filter(layout=layout).latest("pk")
    assert len(change.evidence) == len(GATES["G4"].asks) + len(GATES["G5"].asks)
    assert "G4 Time without water: 5 h" in change.evidence


def test_what_is_missing_is_named_and_nothing_moves(layout):
    boss = an_owner(layout.showroom)
    say_all(layout, boss, "G4", "G5", leave=("dry", "filter"))
    say_at_gate(tank=layout.tank, gate="G4", key="dry", by=boss, at=LATER, number=9)
    with pytest.raises(Refused) as no:
        pass_gates(layout=layout, records=Records(LATER), by=boss, at=LATER)
    assert set(no.value.fields) == {"dry", "filter"}
    layout.refresh_from_db()
    assert layout.stage == Stage.PLANTING


def test_a_manager_lets_pass_with_a_reason_and_it_stays_written_down(layout):
    boss = an_owner(layout.showroom)
    say_all(layout, boss, "G4", "G5", leave=("dry",))
    with pytest.raises(Refused, match="no reason"):
        say_at_gate(tank=layout.tank, gate="G4", key="dry", by=boss, at=LATER, let_pass=True)
    say_at_gate(
        tank=layout.tank, gate="G4", key="dry", by=boss, at=LATER, let_pass=True, text="misted"
    )
    layout = pass_gates(layout=layout, records=Records(LATER), by=boss, at=LATER)
    assert layout.stage == Stage.START_UP
    assert "let pass: misted" in str(StageChange.objects.latest("pk").evidence)
    assert AuditEntry.objects.filter(deed="gate.let_pass", reason="misted").count() == 1


def test_a_carer_says_what_is_so_and_neither_lets_pass_nor_passes(layout):
    carer = a_person("carer", showroom=layout.showroom)
    say_at_gate(tank=layout.tank, gate="G4", key="rows", by=carer, at=LATER)
    with pytest.raises(Forbidden):
        say_at_gate(
            tank=layout.tank, gate="G4", key="dry", by=carer, at=LATER, let_pass=True, text="why"
        )
    with pytest.raises(Forbidden):
        pass_gates(layout=layout, records=Records(LATER), by=carer, at=LATER)


def test_the_last_word_counts_and_the_one_before_stays(layout):
    boss = an_owner(layout.showroom)
    for so, minutes in ((True, 1), (False, 2)):
        at = AT + timedelta(minutes=minutes)
        say_at_gate(tank=layout.tank, gate="G5", key="filter", by=boss, at=at, was_so=so)
    assert words_of(layout.tank, layout)[("G5", "filter")].was_so is False
    assert layout.gate_words.count() == 2


@pytest.mark.parametrize(
    ("word", "trouble"),
    [
        ({"gate": "G4", "key": "dry"}, Refused),
        ({"gate": "G4", "key": "dry", "number": -1}, Refused),
        ({"gate": "G4", "key": "dry", "number": float("nan")}, Refused),
        ({"gate": "G6", "key": "tan"}, Refused),
        ({"gate": "G8", "key": "algae", "number": 5}, Refused),
        ({"gate": "G4", "key": "nobody"}, Unknown),
        ({"gate": "G7x", "key": "clear"}, Unknown),
        ({"gate": "G8", "key": "nobody"}, Unknown),
    ],
)
def test_what_cannot_be_said_is_refused(layout, word, trouble):
    with pytest.raises(trouble):
        say_at_gate(tank=layout.tank, by=an_owner(layout.showroom), at=LATER, **word)
    assert not layout.gate_words.exists()


def test_a_gallery_asks_for_another_figure_from_then_on(layout):
    boss = an_owner(layout.showroom)
    say_all(layout, boss, "G4", "G5")
    for number, minutes in ((4, 5), (4.5, 6)):
        set_limit(
            showroom=layout.showroom,
            key="time_dry_h",
            number=number,
            reason="hot hall",
            by=boss,
            at=LATER + timedelta(minutes=minutes),
        )
    assert own_limits(layout.showroom) == {"time_dry_h": 4.5}
    assert GateThreshold.objects.count() == 2
    found = standing(layout.tank, layout, Records(LATER))
    assert [line.state for line in found[0].lines][-1] == "missing"
    with pytest.raises(Refused, match="not allowed"):
        set_limit(
            showroom=layout.showroom,
            key="time_dry_h",
            number=900,
            reason="x" * 5,
            by=boss,
            at=LATER,
        )


def test_taken_down_closes_the_layout_with_its_lessons(layout):
    boss = an_owner(layout.showroom)
    layout.stage = Stage.TEARDOWN
    layout.save()
    say_all(layout, boss, "G9")
    say_at_gate(
        tank=layout.tank,
        gate="G9",
        key="lessons",
        by=boss,
        at=LATER + timedelta(1),
        text="Less moss",
    )
    layout = pass_gates(
        layout=layout, records=Records(LATER), by=boss, at=LATER + timedelta(days=2)
    )
    assert (layout.lessons, layout.to_at) == ("Less moss", LATER + timedelta(days=2))
    assert not is_ready(layout.tank, Records(LATER), {})


def test_words_of_the_empty_glass_count_only_since_the_layout_before_it(layout):
    boss = an_owner(layout.showroom)
    other = a_tank("T10", showroom=layout.showroom)
    say_at_gate(tank=other, gate="G0", key="floor_dry", by=boss, at=LATER)
    assert ("G0", "floor_dry") in words_of(other, None)
    assert standing(other, None, Records(LATER))[0].shown == 1


def test_three_looks_in_one_week_are_one_week_of_algae(layout):
    boss = an_owner(layout.showroom)

    def look(day, score):
        at = AT + timedelta(days=day)
        say_at_gate(tank=layout.tank, gate="G8", key="algae", by=boss, at=at, number=score)

    monday = 7 - AT.weekday()
    for day, score in ((monday, 3), (monday + 2, 4), (monday + 6, 3)):
        look(day, score)
    assert scores(layout, "algae") == [3]
    look(monday + 7, 4)
    look(monday + 14, 2)
    assert scores(layout, "algae") == [3, 4, 2]
