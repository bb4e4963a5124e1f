"""A round typed in from paper is the same round, to the millilitre; twice is once; late is said.

The check from outside: the bodies that a tablet sends for the same day, made here from the pack as
its modules make them, give the same stock, completions, readings and skips.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from django.db import transaction

from gallery_ops.kernel.models import Membership
from gallery_ops.overview.paper_round import Outcome, print_sheet, type_in
from inventory.models import Movement, Use
from maintenance.models import Action, Completion, DueTask, Observation, Round, Skip
from maintenance.queries.round_entries import entries_of_round
from maintenance.queries.round_pack import round_pack
from maintenance.services import due_tasks
from maintenance.services.rounds import ensure_rounds
from tanks.models import Reading
from tanks.services.catalogue import load_parameters
from tests.built_once import built_once
from tests.maintenance.actions.saying import ON, Morning, a_morning
from tests.maintenance.house import a_carer, a_tank

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 12, 10, 0, tzinfo=UTC)
Json = dict[str, Any]


@dataclass
class Day:
    """Four tanks; the pump gives 1 mL a press; whoever types, and another who walked."""

    morning: Morning
    bram: Membership
    round: Round


def _built() -> Day:
    load_parameters()
    morning = a_morning()
    for code in ("T03", "T04"):
        a_tank(morning.house, code)
    showroom = morning.house.showroom
    due_tasks.ensure(showroom=showroom, at=NOW)
    ensure_rounds(showroom=showroom, on=ON, at=NOW)
    return Day(morning, morning.carer, Round.objects.get(pk=morning.round.pk))


built, day = built_once(_built)

SHEET = {
    "1.time": "812", "1.look": "y", "1.d0": "y", "1.f0": "y",
    "2.time": "8:15", "2.look": "{temperature} 24,1; 5 film on the glass", "2.d0": "2",
    "2.f0": "0,05",
    "3.time": "0818", "3.look": "y", "3.d0": "s2", "3.f0": "s6 14.3 moult", "3.note": "Lid rattles",
    "4.time": "8.21", "4.look": "s11", "4.d0": "3", "4.f0": "y",
}  # fmt: skip


def typed_in(day: Day, sheet: dict[str, str] = SHEET, at: datetime = NOW) -> Outcome:
    """Type it in as Bram."""
    round_ = Round.objects.get(pk=day.round.pk)
    rows = print_sheet(round_, day.bram, at).rows
    looks = {one["look"]: n for n, one in enumerate(rows[0].stop["looks"], 1)}
    typed = {key: text.format(**looks) for key, text in sheet.items()}
    return type_in(round_=round_, by=day.bram, typed=typed, at=at)


def books(day: Day) -> Json:
    """All that the day left behind, without ids."""
    moved = Movement.objects.filter(use__isnull=False).order_by("done_at_corrected", "pk")
    return {
        "stock": {c: day.morning.level(c) for c in (day.morning.bottle, day.morning.tub)},
        "moved": [(m.container_id, m.amount_base, m.done_at_corrected) for m in moved],
        "used": sorted(Use.objects.values_list("tank", "item", "given_base", "presses")),
        "tasks": sorted(DueTask.objects.values_list("pk", "state")),
        "done": sorted(Completion.objects.values_list("due_task", "done_at_corrected")),
        "skips": sorted(
            Skip.objects.values_list("due_task", "reason", "text", "until_at").all(), key=str
        ),
        "read": sorted(
            Reading.objects.values_list("tank", "parameter__key", "value", "text_as_typed")
        ),
        "seen": sorted(Observation.objects.values_list("tank", "kind", "key", "text")),
    }


def tapped(day: Day) -> None:
    """The same day as a tablet says it: bodies of kinds/check.js, dose.js, feed.js and skip.js."""
    pack = round_pack(day.bram.showroom, day.round, day.bram, NOW)
    stops = pack["stops"]

    def at(clock: str) -> datetime:
        return datetime.fromisoformat(f"2026-03-12T{clock}:00+00:00")

    def task(stop: Json, code: str) -> str:
        return next(str(t["id"]) for t in stop["tasks"] if t["code"] == code)

    def say(stop: Json, clock: str, kind: str, body: Json, **more: Any) -> None:
        fields = {"stop_id": stop["id"], "done_at": at(clock), "at": NOW, **more}
        assert day.morning.say(kind, body, **fields).verdict == "accepted"

    def looked(stop: Json, clock: str, without: tuple[str, ...] = ()) -> None:
        looks = [one["look"] for one in stop["looks"] if one["look"] not in without]
        body = {"check": stop.get("check") or "look", "value": "all_normal", "looks": looks,
                "text": None, "unit": None, "asked_again": False}  # fmt: skip
        say(stop, clock, "check", body, task_id=task(stop, "look"))

    def dosed(stop: Json, clock: str, presses: int, **more: Any) -> None:
        dose = stop["doses"][0]
        body = {"product": dose["product"], "source": None, "planned_ul": dose["planned_ul"],
                "given_ul": presses * dose["per_press_ul"], "presses": presses, "again": None,
                "per_press_ul": dose["per_press_ul"], "text": None,
                "short": None, **more}  # fmt: skip
        say(stop, clock, "dose", body, task_id=dose["task"], plan_version=dose["plan_version"])

    def fed(stop: Json, clock: str, mg: int) -> None:
        feed = stop["feeds"][0]
        body = {"product": feed["product"], "source": None, "planned_mg": feed["planned_mg"],
                "given_mg": mg, "turns": None, "text": None, "seen_to_drop": None}  # fmt: skip
        say(stop, clock, "feed", body, task_id=feed["task"], plan_version=feed["plan_version"])

    def skipped(stop: Json, clock: str, uid: str, reason: str, **more: Any) -> None:
        body = {"task": uid, "reason": reason, "text": None, "until": None, "links": None, **more}
        say(stop, clock, "skip", body, task_id=uid)

    one, two, three, four = stops
    looked(one, "08:12")
    dosed(one, "08:12", 3)
    fed(one, "08:12", 60)
    warm = {"check": "temperature", "look": "temperature", "value": "24.1", "text": "24,1",
            "unit": "°C", "asked_again": False}  # fmt: skip
    fifth = two["looks"][4]["look"]
    film = {"check": fifth, "look": fifth, "value": "different", "text": "film on the glass",
            "unit": None, "asked_again": False}  # fmt: skip
    say(two, "08:15", "check", warm)
    say(two, "08:15", "check", film)
    looked(two, "08:15", ("temperature", fifth))
    dosed(two, "08:15", 2)
    fed(two, "08:15", 50)
    looked(three, "08:18")
    skipped(three, "08:18", three["doses"][0]["task"], "short_of_time")
    rest = {"until": "2026-03-14", "text": "moult"}
    skipped(three, "08:18", three["feeds"][0]["task"], "animals_rest", **rest)
    say(three, "08:18", "note", {"text": "Lid rattles"})
    skipped(four, "08:21", task(four, "look"), "no_supply")
    dosed(four, "08:21", 3)
    fed(four, "08:21", 60)


def test_a_day_typed_in_is_the_day_tapped(day: Day) -> None:
    with transaction.atomic():
        tapped(day)
        by_tablet = books(day)
        transaction.set_rollback(True)
    outcome = typed_in(day)
    assert outcome.wrong == {}
    assert outcome.entered == ["T01", "T02", "T03", "T04"]
    by_paper = books(day)
    assert by_paper == by_tablet
    # 3 + 2 + 3 presses of 1 mL and 60 + 50 + 60 mg, added up by hand
    assert by_paper["stock"][day.morning.bottle] == 500_000 - 8_000
    assert by_paper["stock"][day.morning.tub] == 100_000 - 170


def test_typed_in_twice_it_counts_once(day: Day) -> None:
    typed_in(day)
    once = books(day)
    for at in (NOW, NOW + timedelta(minutes=5)):
        again = typed_in(day, at=at)
        assert (again.entered, again.wrong) == ([], {})
        assert again.known == ["T01", "T02", "T03", "T04"]
    assert books(day) == once
    assert {row.kind for row in Action.objects.all()} >= {"round_open", "check", "dose", "skip"}
    assert Round.objects.get(pk=day.round.pk).opened_at == datetime(2026, 3, 12, 8, 12, tzinfo=UTC)


def test_typed_in_again_with_something_else_is_said_and_changes_nothing(day: Day) -> None:
    typed_in(day)
    once = books(day)
    again = typed_in(day, {**SHEET, "1.d0": "1", "2.time": "8:16", "3.note": "The lid rattles"})
    assert set(again.wrong) == {"1.time", "2.time"}
    assert again.known == ["T04"]
    assert again.entered == ["T03"]  # another note is another note
    assert {**books(day), "seen": once["seen"]} == once


def test_what_a_tablet_entered_meanwhile_is_not_counted_twice(day: Day) -> None:
    tapped(day)
    before = books(day)
    outcome = typed_in(day, {**SHEET, "3.note": ""})
    assert outcome.entered == []
    assert len(outcome.wrong) == 4
    assert all("entered already" in sentence for sentence in outcome.wrong.values())
    assert books(day) == before


def test_a_wrong_box_keeps_its_stop_out_and_lets_the_others_in(day: Day) -> None:
    outcome = typed_in(day, {**SHEET, "2.d0": "20", "3.time": "", "4.time": "23:50"})
    assert outcome.entered == ["T01"]
    assert set(outcome.wrong) == {"2.d0", "3.time", "4.time"}
    assert not Use.objects.filter(tank=day.morning.house.tanks["T02"]).exists()
    assert "write !" in outcome.wrong["2.d0"]
    assert "still to come" in outcome.wrong["4.time"]
    mended = typed_in(day)
    assert (mended.entered, mended.known, mended.wrong) == (["T02", "T03", "T04"], ["T01"], {})


def test_what_the_gallery_refuses_comes_back_with_its_words(day: Day) -> None:
    outcome = typed_in(day, {"1.time": "812", "1.look": "{temperature} 47", "1.d0": "y"})
    assert outcome.entered == []
    assert "Temperature" in outcome.wrong["1.time"]
    asked = typed_in(day, {"1.time": "812", "1.look": "{temperature} 33", "1.d0": "y"})
    assert "write !" in asked.wrong["1.time"]
    assert typed_in(day, {"1.time": "812", "1.look": "{temperature} 33!", "1.d0": "y"}).entered == [
        "T01"
    ]


def test_entered_late_it_says_so_and_does_not_count_as_on_time(day: Day) -> None:
    outcome = typed_in(day, {"1.time": "812", "1.look": "y"}, at=NOW + timedelta(hours=14))
    assert outcome.late == ["T01"]
    row = Completion.objects.get()
    assert row.entered_late
    assert row.done_at_corrected == datetime(2026, 3, 12, 8, 12, tzinfo=UTC)


def test_entries_say_that_they_come_from_paper_and_who_walked(day: Day) -> None:
    odile = a_carer(day.morning.house, "Odile Marsh", "C1")
    typed_in(day, {"1.time": "812", "1.look": "y", "walker": str(odile.person.uid)})
    entries = [one for stop in entries_of_round(day.round).values() for one in stop]
    assert all(entry.get("paper") for entry in entries)
    note = Observation.objects.get(kind="note")
    assert note.text == "Paper round walked by Odile Marsh, typed in by Bram Tolliver."
    assert note.person == day.bram.person


def test_after_it_was_taken_back_a_box_can_be_typed_in_again(day: Day) -> None:
    typed_in(day, {"1.time": "812", "1.d0": "y"})
    dose = Action.objects.get(kind="dose")
    body = {"takes_back": str(dose.action_id)}
    undo = day.morning.say("undo", body, corrects=str(dose.action_id), at=NOW, done_at=NOW)
    assert undo.verdict == "accepted"
    assert typed_in(day, {"1.time": "812", "1.d0": "y"}).entered == ["T01"]
    assert day.morning.level() == 500_000 - 3_000
    assert typed_in(day, {"1.time": "812", "1.d0": "y"}).known == ["T01"]
    assert isinstance(dose.action_id, UUID)


def test_a_normal_tank_is_eleven_keys(day: Day) -> None:
    """812, y, y, y and no note, each with Enter: twenty tanks are 220 keys, at two a second 110 s.

    An asked reading that was not taken is one more Enter; T03 is asked for one this week.
    """
    rows = print_sheet(day.round, day.bram, NOW).rows
    yes = {"look": 2, "dose": 2, "feed": 2, "reading": 1}
    keys = [len("812") + 1 + sum(yes[box.kind] for box in row.boxes) + 1 for row in rows]
    assert sorted(keys) == [11, 11, 11, 12]
