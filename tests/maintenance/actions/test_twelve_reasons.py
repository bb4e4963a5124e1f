"""Twelve reasons to leave a task out: what the tablet is told beforehand, and what then happens."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.queries.alerts import open_alerts
from gallery_ops.overview.day_board import day_board
from maintenance.models import DueTask, Observation, Round, Skip, SkipReason
from maintenance.queries.due import due_on, open_tasks
from maintenance.queries.handed import handed_to
from maintenance.queries.pack_tasks import next_dates
from maintenance.queries.round_pack import round_pack
from maintenance.services import due_tasks, skip_alerts
from maintenance.services.overdue import late_tasks
from maintenance.services.rota import plan_shift
from maintenance.services.rounds import ensure_rounds
from maintenance.services.skips import skip
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, ON, Morning, a_morning
from tests.maintenance.house import a_carer, a_house

pytestmark = pytest.mark.django_db

TOMORROW = ON + timedelta(days=1)
LATE_AT = datetime(2026, 3, 12, 13, 0, tzinfo=UTC)
"""Five hours after the round: class A counts late from half an hour on (rules of lateness)."""


@dataclass
class World:
    """The morning, and somebody who comes at ten and is signed off for all."""

    morning: Morning
    runa: Membership


def a_world() -> World:
    morning = a_morning()
    runa = a_carer(morning.house, "Runa Aldersley", "C1", "C2", "C3")
    plan_shift(
        showroom=morning.house.showroom, person=runa.person, from_at=AT, to_at=LATE_AT,
        by=morning.house.owner, at=AT - timedelta(days=1),
    )  # fmt: skip
    return World(morning, runa)


built, world = built_once(a_world)


@dataclass(frozen=True)
class Row:
    """What one reason needs, and what follows from it for the look, a task of class A.

    late : it counts late five hours on. told : the manager has an alert. next_on : the day on which
    the task is to do again, as the pack of that day shows it.
    """

    line: str
    state: str
    late: bool
    told: bool
    next_on: date = ON
    says: dict[str, Any] = field(default_factory=dict)


CLAIM = {"person": None, "name": "Odile Marsh", "at": "2026-03-12T07:00"}
TABLE = {
    "not_needed": Row("moves", "skipped", False, False, TOMORROW, {"text": "pH 6.8"}),
    "short_of_time": Row("late", "open", True, False),
    "needs_skill": Row("handed", "open", True, True, says={"links": "runa"}),
    "out_of_stock": Row("late", "open", True, True),
    "tool_broken": Row("late", "open", True, True, says={"text": "The ladder wobbles."}),
    "animals_rest": Row("moves", "open", False, False, TOMORROW, {"until": TOMORROW.isoformat()}),
    "event": Row("moves", "open", False, False, says={"until": "2026-03-12T16:00"}),
    "tank_empty": Row("rests", "dropped", False, False, TOMORROW),
    "danger": Row("first_minute", "open", True, True),
    "already_done": Row("linked", "done", False, False, TOMORROW, {"claim": CLAIM}),
    "no_supply": Row("first_minute", "open", True, True),
    "other": Row("late", "open", True, False, says={"text": "The lift is stuck."}),
}


def left_out(world: World, reason: str, kind: str = "look", **more: Any) -> DueTask:
    """Leave the task of T01 out by the tablet."""
    says = {**TABLE[reason].says, **more}
    if says.get("links") == "runa":
        says["links"] = str(world.runa.person.uid)
    body = world.morning.skip_body(kind, reason, **says)
    said = world.morning.say("skip", body, **world.morning.at_stop(kind))
    assert said.verdict == "accepted", said
    return world.morning.task(kind)


def is_late(world: World, task: DueTask, at: datetime) -> bool:
    showroom = world.morning.house.showroom
    late = late_tasks(showroom, open_tasks(showroom, at), at)
    return str(task.uid) in {one.task.uid for one in late}


def pack_of(world: World, on: date = ON) -> dict[str, Any]:
    """The opening round of that day, as the carer's tablet gets it."""
    showroom, opening, at = world.morning.house.showroom, world.morning.round, AT + (on - ON)
    if on != ON:
        rounds = ensure_rounds(showroom=showroom, on=on, at=at)
        opening = Round.objects.get(pk=next(one.pk for one in rounds if one.kind == "opening"))
    return round_pack(showroom, opening, world.morning.carer, at)


def stop_in(pack: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = next(stop for stop in pack["stops"] if stop["tank"] == "T01")
    return found


def task_in(pack: dict[str, Any], code: str = "look") -> dict[str, Any]:
    found: dict[str, Any] = next(one for one in stop_in(pack)["tasks"] if one["code"] == code)
    return found


def test_the_table_names_every_reason_of_the_books() -> None:
    assert set(TABLE) == set(SkipReason.values)


@pytest.mark.parametrize("reason", TABLE)
def test_what_the_tablet_is_told_is_what_then_happens(world: World, reason: str) -> None:
    row, showroom = TABLE[reason], world.morning.house.showroom
    pack = pack_of(world)
    told = next(one for one in pack["reasons"] if one["code"] == reason)

    task = left_out(world, reason)

    open_at = open_tasks(showroom, LATE_AT)
    late = {one.task.uid for one in late_tasks(showroom, open_at, LATE_AT)}
    assert (told["line"], task.state) == (row.line, row.state)
    assert (str(task.uid) in late) is row.late
    skip_alerts.review(showroom, AT)
    assert open_alerts(showroom, kind="skip").exists() is row.told
    assert ("manager" in told["effect"]) is row.told, "the words promise what is done"
    assert ("First minute" in told["effect"]) is (row.line == "first_minute")
    assert ("counts late" in told["effect"]) is (row.line == "late")
    faults = Observation.objects.filter(kind="fault", tank=task.tank)
    assert ("fault" in told["effect"]) is faults.exists()
    if row.next_on == TOMORROW:
        assert task_in(pack)["next_on"] == TOMORROW.isoformat()
        assert task_in(pack_of(world, TOMORROW))["late_from"] > f"{TOMORROW}"
    else:
        assert str(task.uid) in {one.uid for one in open_at}


def test_what_is_handed_over_stands_with_that_person_and_leaves_with_the_deed(
    world: World,
) -> None:
    showroom = world.morning.house.showroom
    task = left_out(world, "needs_skill")
    (row,) = [one for one in due_on(showroom, ON, AT) if one.task.uid == str(task.uid)]
    assert row.who == ("Runa Aldersley",)
    lines = {line.name: line.works for line in day_board(showroom, AT).people}
    assert any(row.task.name in work.words for work in lines["Runa Aldersley"])
    handed = task_in(pack_of(world))["handed"]
    assert (handed["to"], handed["by"]) == (str(world.runa.person.uid), "Bram")
    (mine,) = handed_to(showroom, world.runa.person, ON, at=AT)
    assert (mine.tank, mine.task) == ("T01", row.task.name)
    assert handed_to(showroom, world.morning.carer.person, ON, at=AT) == []
    body = {"task": str(task.uid), "minutes": None, "answers": {}}
    world.morning.say("complete", body, **world.morning.at_stop("look"))
    assert handed_to(showroom, world.runa.person, ON, at=AT) == []


def test_nobody_of_another_gallery_is_handed_anything(world: World) -> None:
    stranger = a_carer(a_house("overshore"), "Ilse Marlbrook")
    body = world.morning.skip_body("look", "needs_skill", links=str(stranger.person.uid))
    held = world.morning.say("skip", body, **world.morning.at_stop("look"))
    assert (held.verdict, held.reason) == ("held", "unknown")
    assert not Skip.objects.exists()


def test_a_dose_put_off_to_a_day_without_one_stands_there_with_what_was_planned(
    world: World,
) -> None:
    task = left_out(world, "animals_rest", "dose", until=TOMORROW.isoformat())
    DueTask.objects.filter(due_on=TOMORROW, template__kind="dose").delete()
    pack = pack_of(world, TOMORROW)
    assert task_in(pack, "dose")["id"] == str(task.uid)
    (dose,) = stop_in(pack)["doses"]
    assert (dose["task"], dose["planned_ul"]) == (str(task.uid), 3000)


def test_where_the_day_has_its_own_that_one_stands_for_both(world: World) -> None:
    task = left_out(world, "animals_rest")
    due = [one["id"] for one in stop_in(pack_of(world, TOMORROW))["tasks"] if one["code"] == "look"]
    own = DueTask.objects.get(due_on=TOMORROW, template__key="look", tank=task.tank)
    assert due == [str(own.uid)]


def test_an_event_rests_until_its_hour_and_counts_late_from_then_on(world: World) -> None:
    task = left_out(world, "event")
    assert not is_late(world, task, datetime(2026, 3, 12, 15, 59, tzinfo=UTC))
    assert is_late(world, task, datetime(2026, 3, 12, 16, 1, tzinfo=UTC))


def test_not_needed_counts_from_the_day_on_which_it_was_said(world: World) -> None:
    """Trimming comes every three weeks from done: let pass on 12 March, next on 2 April."""
    showroom = world.morning.house.showroom
    trims = DueTask.objects.filter(template__key="trim_stems", tank__isnull=False)
    task = trims.select_related("template", "tank").order_by("due_on").first()
    assert task is not None
    assert next_dates(showroom, [task], ON, {}) == {task.pk: date(2026, 4, 2)}
    by = world.morning.carer
    skip(due_task=task, reason="not_needed", text="10 cm to the surface", by=by, at=AT)
    due_tasks.ensure(showroom=showroom, at=AT + timedelta(days=16))
    again = trims.filter(tank=task.tank, state="open").values_list("due_on", flat=True)
    assert list(again) == [date(2026, 4, 2)]
