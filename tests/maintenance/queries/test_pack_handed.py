"""Is what was handed over in the pack of whoever walks, also where the tank is of another zone?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.models import Membership
from maintenance.models import DueTask, Round
from maintenance.queries.round_pack import round_pack
from maintenance.services import due_tasks
from maintenance.services.rota import plan_shift
from maintenance.services.rounds import ensure_rounds
from tanks.models import Zone
from tanks.services.layouts import begin_layout
from tanks.services.placements import add_tank
from tanks.services.places import add_position, add_zone
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, ON, Morning, a_morning, rows_of
from tests.maintenance.house import START, a_carer, a_tank

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@dataclass
class World:
    """Zone A with two tanks; zone B with one, walked by somebody who is signed off for all."""

    morning: Morning
    runa: Membership
    beyond: Round

    def pack(self, you: Membership, round_: Round | None = None, at: Any = AT) -> dict[str, Any]:
        """The opening round of zone B, or another one."""
        return round_pack(self.morning.house.showroom, round_ or self.beyond, you, at)


def a_world() -> World:
    morning = a_morning()
    house = morning.house
    known = house.positions["place of T01"]
    zone: Zone = add_zone(showroom=house.showroom, code="B", by=house.owner, at=START)
    place = add_position(
        room=known.room, zone=zone, name="beyond", walking_order=9, by=house.owner, at=START
    )
    tank = add_tank(
        showroom=house.showroom, code="T14", length_mm=600, width_mm=300, height_mm=360,
        glass_mm=6, by=house.owner, at=START, position=place,
    )  # fmt: skip
    begin_layout(
        tank=tank, title="Beyond", by=house.owner, at=START, stage="show",
        flooded_on=date(2025, 9, 1),
    )  # fmt: skip
    runa = a_carer(house, "Runa Aldersley", "C1", "C2", "C3")
    due_tasks.ensure(showroom=house.showroom, at=AT)
    rounds = rows_of(ensure_rounds(showroom=house.showroom, on=ON, at=AT))
    opening = [row for row in rounds if row.kind == "opening"]
    return World(morning, runa, next(row for row in opening if row.zone.code == "B"))


built, world = built_once(a_world)


def hand(world: World, kind: str = "dose", tank: str = "T01") -> DueTask:
    morning = world.morning
    task = morning.task(kind, tank)
    body = {"task": str(task.uid), "reason": "needs_skill", "text": None, "until": None,
            "links": str(world.runa.person.uid)}  # fmt: skip
    assert morning.say("skip", body, **morning.at_stop(kind, tank)).verdict == "accepted"
    return task


def places(pack: dict[str, Any]) -> list[tuple[str | None, str | None]]:
    return [(stop["tank"], stop["elsewhere"]) for stop in pack["stops"]]


def test_whoever_it_was_handed_to_takes_the_tank_of_another_zone_along(world: World) -> None:
    assert places(world.pack(world.runa)) == [("T14", None)]
    task = hand(world)
    pack = world.pack(world.runa)
    assert places(pack) == [("T14", None), ("T01", "zone A")]
    extra = pack["stops"][-1]
    assert [one["id"] for one in extra["tasks"]] == [str(task.uid)], "and nothing else of it"
    assert extra["tasks"][0]["handed"]["to"] == str(world.runa.person.uid)
    (dose,) = extra["doses"]
    assert (dose["task"], dose["planned_ul"]) == (str(task.uid), 3000)
    assert (extra["looks"], extra["feeds"]) == ([], [])
    assert next(one for one in pack["tanks"] if one["code"] == "T01")["stop"] == extra["id"]


def test_it_is_there_for_the_walk_and_not_for_somebody_else(world: World) -> None:
    hand(world)
    bram = world.morning.carer
    assert places(world.pack(bram)) == [("T14", None)]
    plan_shift(
        showroom=world.morning.house.showroom, person=world.runa.person, from_at=AT,
        to_at=AT + timedelta(hours=8), by=world.morning.house.owner, at=AT, zone=world.beyond.zone,
    )  # fmt: skip
    assert places(world.pack(bram)) == [("T14", None), ("T01", "zone A")], "the rota says who comes"
    own = world.pack(bram, world.morning.round)
    assert places(own) == [("T01", None), ("T02", None)], "it has its own place there"


def test_done_on_the_other_walk_it_is_done_on_both(world: World) -> None:
    task = hand(world)
    stop = world.pack(world.runa)["stops"][-1]["id"]
    fields = {"round_id": str(world.beyond.uid), "stop_id": stop, "task_id": str(task.uid)}
    body, person = world.morning.dose_body(), str(world.runa.person.uid)
    said = world.morning.say("dose", body, **fields, person_id=person)
    assert said.verdict == "accepted"
    for round_ in (world.beyond, world.morning.round):
        at_t01 = next(one for one in world.pack(world.runa, round_)["stops"] if one["id"] == stop)
        assert [e["kind"] for e in at_t01["entries"] if e["action_id"] == said.action_id] == [
            "dose"
        ]
    assert world.morning.undo(said, person_id=person).verdict == "accepted"
    extra = world.pack(world.runa)["stops"][-1]
    assert [one["id"] for one in extra["tasks"]] == [str(task.uid)], "handed over again"


def test_what_was_handed_over_yesterday_stands_in_todays_pack(world: World) -> None:
    work = DueTask.objects.filter(
        tank=world.morning.house.tanks["T02"], template__kind="work", due_on__lte=ON, state="open"
    ).first() or _work(world)
    body = {"task": str(work.uid), "reason": "needs_skill", "text": None, "until": None,
            "links": str(world.runa.person.uid)}  # fmt: skip
    assert world.morning.say("skip", body, task_id=str(work.uid)).verdict == "accepted"
    tomorrow = AT + DAY
    house = world.morning.house
    due_tasks.ensure(showroom=house.showroom, at=tomorrow)
    rounds = rows_of(ensure_rounds(showroom=house.showroom, on=ON + DAY, at=tomorrow))
    for code, wanted in (("B", ("T02", "zone A")), ("A", ("T02", None))):
        opening = next(r for r in rounds if r.kind == "opening" and r.zone.code == code)
        pack = world.pack(world.runa, opening, tomorrow)
        stop = next(one for one in pack["stops"] if one["tank"] == "T02")
        assert (stop["tank"], stop["elsewhere"]) == wanted
        assert str(work.uid) in {one["id"] for one in stop["tasks"]}


def _work(world: World) -> DueTask:
    row = DueTask.objects.filter(
        tank=world.morning.house.tanks["T02"], template__kind="work"
    ).order_by("due_on").first()  # fmt: skip
    assert row is not None
    DueTask.objects.filter(pk=row.pk).update(due_on=ON)
    row.refresh_from_db()
    return row


@pytest.mark.once
def test_ten_handed_tasks_cost_as_many_queries_as_one(world: World) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            world.pack(world.runa)
        return len(seen)

    hand(world)
    one = queries()
    house = world.morning.house
    for n in range(3, 12):
        a_tank(house, f"T{n:02}", at=START)
    due_tasks.ensure(showroom=house.showroom, at=AT)
    ensure_rounds(showroom=house.showroom, on=ON, at=AT)
    for n in range(2, 12):
        hand(world, tank=f"T{n:02}")
    assert len(world.pack(world.runa)["stops"]) == 12
    assert queries() <= one
