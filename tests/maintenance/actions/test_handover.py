"""Lines for the next shift: kept once in any order, read once, told of when nobody reads them."""

from __future__ import annotations

import random
from datetime import timedelta
from itertools import permutations
from typing import Any

import pytest

from gallery_ops.kernel.models import Alert, Membership
from maintenance.models import HandoverLine, HandoverRead, Shift
from maintenance.queries.handover import due_for, unread_by
from maintenance.services.handover_alerts import review
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, Morning, a_morning
from tests.maintenance.house import a_carer

pytestmark = pytest.mark.django_db


def _built() -> tuple[Morning, Membership]:
    morning = a_morning()
    return morning, a_carer(morning.house, "Odile Marsh", "C1")


built, world = built_once(_built)


def line_body(**more: Any) -> dict[str, Any]:
    """A line about T01."""
    return {
        "line": "worry",
        "text": "Hardness falls",
        "tank": "T01",
        "by": None,
        "source": None,
        "entry": None,
        "handed_to": None,
        **more,
    }


def test_a_line_is_kept_with_what_it_says(world: tuple[Morning, Membership]) -> None:
    morning, odile = world
    entry = "01957d2c-0000-7000-8000-000000000001"
    body = line_body(
        line="do", by="2026-03-12T18:00", source="reading 08:12", entry=entry,
        handed_to=str(odile.person.uid),
    )  # fmt: skip
    assert morning.say("handover_line", body).verdict == "accepted"
    row = HandoverLine.objects.get()
    assert (row.kind, row.text, row.handed_to) == ("do", "Hardness falls", odile.person)
    assert row.tank == morning.house.tanks["T01"]
    assert row.source == f"reading 08:12 {entry}"
    [mine] = unread_by(odile, AT)
    assert (mine.tank, mine.by_hour, mine.source) == ("T01", "18:00", "reading 08:12")
    assert [due.text for due in due_for(odile, AT)] == ["Hardness falls"]
    assert unread_by(morning.house.owner, AT) == []
    assert due_for(morning.house.owner, AT) == []


def test_a_day_without_an_hour_lasts_until_the_business_day_ends(
    world: tuple[Morning, Membership],
) -> None:
    morning, odile = world
    morning.say("handover_line", line_body(line="do", by="2026-03-13"))
    assert due_for(odile, AT) == []
    [due] = due_for(odile, AT + timedelta(hours=40))  # half past midnight, still the thirteenth
    assert (str(due.by_day), due.by_hour) == ("2026-03-13", "")
    assert due_for(odile, AT + timedelta(hours=46)) == []


@pytest.mark.parametrize(
    ("body", "verdict"),
    [
        (line_body(text="  "), "malformed"),
        (line_body(text="x" * 301), "malformed"),
        (line_body(line="angry"), "malformed"),
        (line_body(by="tomorrow"), "malformed"),
        (line_body(by="2026-02-31"), "held"),
        (line_body(by="2031-01-01"), "held"),
        (line_body(tank="T77"), "held"),
        (line_body(handed_to="00000000-0000-7000-8000-000000000009"), "held"),
        (line_body(handed_to="Odile"), "held"),
    ],
)
def test_what_cannot_be_a_line_is_not_thrown_away(
    world: tuple[Morning, Membership], body: dict[str, Any], verdict: str
) -> None:
    morning, _odile = world
    assert morning.say("handover_line", body).verdict == verdict
    assert not HandoverLine.objects.exists()


def test_every_order_and_repetition_gives_the_same_rows(
    world: tuple[Morning, Membership],
) -> None:
    """Two lines, a read of each by Odile and one by the owner, twice over, shuffled by a seed."""
    morning, odile = world
    lines = [morning.action("handover_line", line_body(text=text)) for text in ("one", "two")]
    reads = [
        morning.action("handover_read", {"line": line["action_id"]}, person_id=str(who.person.uid))
        for line in lines
        for who in (odile, morning.house.owner)
    ]
    for place, order in enumerate(permutations([lines[0], reads[0], reads[1]])):
        assert {a.verdict for a in morning.send(list(order))} <= {"accepted", "duplicate", "held"}
        assert place or HandoverLine.objects.count() == 1
    rest = [lines[1], *reads] * 2
    random.Random(20260312).shuffle(rest)
    for action in rest:
        morning.send([action])
    assert sorted(HandoverLine.objects.values_list("text", flat=True)) == ["one", "two"]
    assert HandoverRead.objects.count() == len(reads)
    assert {a.verdict for a in morning.send([*lines, *reads])} == {"duplicate"}


def test_a_read_that_comes_first_counts_by_itself_when_its_line_is_here(
    world: tuple[Morning, Membership],
) -> None:
    morning, odile = world
    line = morning.action("handover_line", line_body())
    early = morning.action(
        "handover_read", {"line": line["action_id"]}, person_id=str(odile.person.uid)
    )
    [answer] = morning.send([early])
    assert (answer.verdict, answer.reason) == ("held", "line_not_here")
    morning.send([line], at=AT + timedelta(hours=5))
    read = HandoverRead.objects.get()
    assert (read.person, read.done_at_corrected) == (odile.person, AT)
    assert morning.send([early])[0].verdict == "duplicate"
    assert unread_by(odile, AT + timedelta(hours=5)) == []


def test_a_strangers_line_is_no_line(world: tuple[Morning, Membership]) -> None:
    morning, _odile = world
    other = a_morning("marrowick")
    other.say("handover_line", line_body())
    theirs = str(HandoverLine.objects.get().action_id)
    said = morning.say("handover_read", {"line": theirs})
    none = morning.say("handover_read", {"line": "00000000-0000-7000-8000-00000000000a"})
    assert (said.verdict, said.words, said.help) == (none.verdict, none.words, none.help)
    assert not HandoverRead.objects.exists()


def test_a_line_is_taken_back(world: tuple[Morning, Membership]) -> None:
    morning, odile = world
    answer = morning.say("handover_line", line_body())
    assert morning.undo(answer).verdict == "accepted"
    assert unread_by(odile, AT) == []
    assert HandoverLine.objects.count() == 2


def alerts() -> list[str]:
    """Sentences of what is open."""
    return list(
        Alert.objects.filter(kind="handover", closed_at=None).values_list("sentence", flat=True)
    )


def test_unread_an_hour_into_the_shift_it_is_told_and_closes_when_read(
    world: tuple[Morning, Membership],
) -> None:
    morning, odile = world
    showroom = morning.house.showroom
    begins = AT + timedelta(hours=4)
    Shift.objects.create(
        showroom=showroom, person=odile.person, from_at=begins, to_at=begins + timedelta(hours=8)
    )
    first = morning.say("handover_line", line_body())
    morning.say("handover_line", line_body(text="Lid rattles"))
    review(showroom, begins + timedelta(minutes=59))
    assert alerts() == []
    review(showroom, begins + timedelta(minutes=60))
    assert alerts() == [
        "2 lines that Bram Tolliver handed over to the next shift on Thu 08:08 are not read."
    ]
    morning.say("handover_read", {"line": first.action_id})  # by whoever wrote it: tells nobody
    for row in HandoverLine.objects.all():
        reader = str(odile.person.uid)
        morning.say("handover_read", {"line": str(row.action_id)}, person_id=reader)
    review(showroom, begins + timedelta(minutes=65))
    assert alerts() == []


def test_without_a_shift_in_the_books_it_counts_from_the_line_or_its_arrival(
    world: tuple[Morning, Membership],
) -> None:
    morning, odile = world
    showroom = morning.house.showroom
    arrived = AT + timedelta(hours=3)
    body = line_body(handed_to=str(odile.person.uid))
    morning.say("handover_line", body, at=arrived)
    review(showroom, arrived + timedelta(minutes=59))
    assert alerts() == []
    review(showroom, arrived + timedelta(minutes=61))
    assert len(alerts()) == 1
    morning.say(
        "handover_read",
        {"line": str(HandoverLine.objects.get().action_id)},
        person_id=str(morning.house.owner.person.uid),
        at=arrived + timedelta(minutes=62),
    )
    review(showroom, arrived + timedelta(minutes=63))
    assert alerts() == []  # the owner sees to it
