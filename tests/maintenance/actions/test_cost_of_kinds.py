"""What does one entry of each kind cost in queries, in a small batch and in a large one?

What a day sends most is asked in batches of a hundred, the most that a tablet sends; the rest in
smaller ones, and by a long run in hundreds too.

Statements that ask for rows or write them are counted, savepoints and locks by name are not.
Wanting work is counted at each entry, as at the door, where every entry has a transaction of its
own. What a batch looks up once falls out of the difference. A number that changed is a decision:
it is written here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from hashlib import sha256
from typing import Any

import pytest
from django.db import connection

from gallery_ops.kernel.models import Device, Showroom
from gallery_ops.kernel.services import work
from gallery_ops.kernel.services.people import grant_skill
from gallery_ops.kernel.values.quantity import Volume
from gallery_ops.kernel.values.uuid7 import uuid7
from inventory.models import Item, LivestockBatch, Supply
from maintenance.actions.apply import Sender, apply_batch
from maintenance.actions.envelope import MOST_ACTIONS
from maintenance.actions.handlers import HANDLERS
from maintenance.models import DueTask, Stop
from tests.builders import people, stock
from tests.builders.fleet import AT, BEFORE, ON, a_fleet
from tests.built_once import built_once

pytestmark = [pytest.mark.django_db, pytest.mark.once]

FEW, SEVERAL, MANY = 4, 16, MOST_ACTIONS
OFTEN = {("check", "all normal"), ("dose", "")}
NOT_COUNTED = ("SAVEPOINT", "RELEASE", "SELECT PG_ADVISORY", "BEGIN", "COMMIT")
Said = dict[str, Any]


@dataclass
class World:
    """A fleet of some more tanks than entries of both batches together, and what each kind names.

    All by the number of the tank, in walking order.
    """

    showroom: Showroom
    owner: str
    opening: str
    tablet: Device
    fertiliser: str
    food: str
    can: str
    stops: list[str]
    looks: list[str]
    doses: list[str]
    feeds: list[str]
    bottles: list[str]
    cylinders: list[str]
    animals: list[str]
    seq: int = 0
    waiting: list[Said] = field(default_factory=list)

    def entry(self, kind: str, body: Said, **fields: Any) -> Said:
        """One entry, as a tablet makes it."""
        self.seq += 1
        return {
            "action_id": str(uuid7(AT)), "device_id": str(self.tablet.uid), "seq": self.seq,
            "schema": 1, "kind": kind, "round_id": self.opening, "stop_id": None,
            "task_id": None, "person_id": self.owner, "person_proof": "pin",
            "done_at": AT.isoformat(), "monotonic_ms": self.seq, "boot_id": str(uuid7(AT)),
            "plan_version": None, "corrects": None, "body": body, **fields,
        }  # fmt: skip

    def dose(self, n: int, **fields: Any) -> Said:
        """The planned dose of one tank."""
        body = {
            "product": self.fertiliser, "source": None, "planned_ul": 3000,
            "given_ul": 3000, "presses": None, "per_press_ul": None, "text": None, "again": None,
            "short": None,
        }  # fmt: skip
        where = {"stop_id": self.stops[n], "task_id": self.doses[n]}
        return self.entry("dose", body, **{**where, **fields})

    def send(self, entries: list[Said]) -> None:
        """All of them must count: what is held costs less than what is applied."""
        sender = Sender(showroom=self.showroom, device=self.tablet)
        answers, _ = apply_batch(sender=sender, actions=entries, sent_at=AT, at=AT)
        assert {(one.verdict, one.words) for one in answers} == {("accepted", None)}

    def cost(self, entries: list[Said]) -> int:
        """Statements that ask for rows or write them."""
        asked: list[str] = []

        def seen(run: Callable[..., Any], sql: str, *rest: Any) -> Any:
            asked.append(sql)
            return run(sql, *rest)

        with connection.execute_wrapper(seen):
            self.send(entries)
        return sum(not sql.upper().startswith(NOT_COUNTED) for sql in asked)


def a_world() -> World:
    """Two batches of different tanks, one tank more to warm up with, and one before each."""
    fleet = a_fleet(FEW + MANY + 4)
    showroom, owner = fleet.showroom, fleet.owner
    for skill in ("C1", "C2", "C3"):
        grant_skill(membership=owner, skill=skill, by=owner, at=BEFORE, signed_off_on=BEFORE.date())
    fertiliser = Item.objects.get(showroom=showroom, code="fertiliser")
    food = Item.objects.get(showroom=showroom, code="food")
    tub = stock.a_tub(food, at=BEFORE)
    stock.feeds(tub, purpose="food", zone="A", at=BEFORE)
    can = stock.a_bottle(fertiliser, kind="can", capacity=Volume.l(5), at=BEFORE)
    fed_by = dict(Supply.objects.filter(purpose="dose").values_list("tank_id", "container__code"))
    gas = dict(Supply.objects.filter(purpose="gas").values_list("tank_id", "container__code"))
    stops = dict(Stop.objects.filter(round=fleet.opening).values_list("tank_id", "uid"))
    tasks = DueTask.objects.filter(due_on=ON, template__round_kind="opening")
    pks = [tank.pk for tank in fleet.tanks]

    def of_kind(kind: str) -> list[str]:
        found = dict(tasks.filter(template__kind=kind).values_list("tank_id", "uid"))
        return [str(found[pk]) for pk in pks]

    batches = LivestockBatch.objects.filter(showroom=showroom).order_by("pk")
    return World(
        showroom=showroom,
        owner=str(owner.person.uid),
        opening=str(fleet.opening.uid),
        tablet=people.a_device(owner, at=BEFORE),
        fertiliser=str(fertiliser.uid),
        food=str(food.uid),
        can=can.code,
        stops=[str(stops[pk]) for pk in pks],
        looks=of_kind("look"),
        doses=of_kind("dose"),
        feeds=of_kind("feed"),
        bottles=[fed_by[pk] for pk in pks],
        cylinders=[gas[pk] for pk in pks],
        animals=[str(uid) for uid in batches.values_list("uid", flat=True)],
    )


built, world = built_once(a_world)


# --- one entry of each kind, about the n-th tank ------------------------------------------------
def a_check(w: World, n: int, value: str = "24.1", check: str = "temperature") -> Said:
    body = {"check": check, "value": value, "text": None, "unit": None, "asked_again": False}
    return w.entry("check", body, stop_id=w.stops[n])


def all_normal(w: World, n: int) -> Said:
    entry = a_check(w, n, "all_normal", "opening_look")
    return {**entry, "task_id": w.looks[n]}


def in_words(w: World, n: int) -> Said:
    return a_check(w, n, "different", "surface")


def unable(w: World, n: int) -> Said:
    body = {"check": "temperature", "reason": "Broken."}
    return w.entry("unable", body, stop_id=w.stops[n])


def a_feed(w: World, n: int) -> Said:
    body = {
        "product": w.food, "source": None, "planned_mg": 60, "given_mg": 60, "turns": None,
        "text": None, "seen_to_drop": True,
    }  # fmt: skip
    return w.entry("feed", body, stop_id=w.stops[n], task_id=w.feeds[n])


def a_completion(w: World, n: int) -> Said:
    body = {"task": w.looks[n], "minutes": 3, "answers": {}}
    return w.entry("complete", body, stop_id=w.stops[n])


def skip(w: World, n: int, reason: str = "short_of_time", **more: Any) -> Said:
    body = {
        "task": w.doses[n], "reason": reason, "text": "x", "until": None, "links": None,
        **more,
    }  # fmt: skip
    return w.entry("skip", body, stop_id=w.stops[n])


def claimed(w: World, n: int) -> Said:
    claim = {"person": None, "name": "Runa Aldersley", "at": "2026-03-12T07:30"}
    return skip(w, n, "already_done", claim=claim)


def a_death(w: World, n: int) -> Said:
    body = {"what": "dead", "batch": w.animals[n], "species_unsure": False, "count": 1}
    return w.entry("animal", {**body, "text": None}, stop_id=w.stops[n])


def a_note(w: World, n: int) -> Said:
    return w.entry("note", {"text": "Pale."}, stop_id=w.stops[n])


def a_photo(w: World, n: int) -> Said:
    body = {
        "sha256": sha256(str(n).encode()).hexdigest(), "size_bytes": 1000, "viewpoint": "front",
        "media_type": "image/jpeg", "entry": None,
    }  # fmt: skip
    return w.entry("photo", body, stop_id=w.stops[n])


def a_line(w: World, n: int) -> Said:
    body = {
        "line": "do", "text": "Look again.", "tank": f"T{n + 1:04}", "by": "2026-03-12",
        "source": None, "entry": None, "handed_to": w.owner,
    }  # fmt: skip
    return w.entry("handover_line", body)


def read(w: World, n: int) -> Said:
    line = a_line(w, n)
    w.waiting.append(line)
    return w.entry("handover_read", {"line": line["action_id"]})


def _after_a_dose(w: World, n: int, kind: str, body: Said) -> Said:
    first = w.dose(n)
    w.waiting.append(first)
    named = {"undo": "takes_back", "move_record": "moves", "amend": "amends"}[kind]
    wanted = first["action_id"]
    return w.entry(kind, {named: wanted, **body}, corrects=wanted, stop_id=w.stops[n])


def undo(w: World, n: int) -> Said:
    return _after_a_dose(w, n, "undo", {})


def before(n: int) -> str:
    """The code of the tank before this one."""
    return f"T{n:04}"


def move(w: World, n: int) -> Said:
    return _after_a_dose(w, n, "move_record", {"tank": before(n), "reason": "elsewhere"})


def amend(w: World, n: int) -> Said:
    return _after_a_dose(w, n, "amend", {"changes": {"given_ul": 2500}, "reason": "slip"})


def opened(w: World, _n: int) -> Said:
    return w.entry("round_open", {"position": None})


def left(w: World, n: int) -> Said:
    return w.entry("stop_leave", {"done": 1, "of": 3, "reason": None}, stop_id=w.stops[n])


def closed(w: World, _n: int) -> Said:
    return w.entry("round_close", {"left_open": [], "hand_over_to": None})


def a_weighing(w: World, n: int) -> Said:
    body = {
        "container": w.cylinders[n], "gross_mg": 4_500_000, "text": "4.5", "scale": None,
        "regulator_on": False,
    }  # fmt: skip
    return w.entry("weigh", body)


def presses(w: World, n: int) -> Said:
    body = {"container": w.bottles[n], "presses": 20, "mass_mg": 19_400, "text": None}
    return w.entry("press_calibration", {**body, "scale": None})


def portions(w: World, n: int) -> Said:
    body = {"tank": f"T{n + 1:04}", "product": w.food, "portions": 20, "mass_mg": 1_200}
    return w.entry("feeder_calibration", {**body, "text": None})


def by_eye(w: World, n: int) -> Said:
    return w.entry("eye_count", {"container": w.bottles[n], "quarters": 3})


def a_gauge(w: World, n: int) -> Said:
    body = {"container": w.cylinders[n], "pressure_kpa": 5_730, "temperature_mdegc": 20_000}
    return w.entry("pressure", {**body, "text": None})


def poured(w: World, n: int) -> Said:
    body = {"source": w.can, "into": w.bottles[n], "amount_base": 1_000, "text": None}
    return w.entry("decant", body)


def counted(w: World, n: int) -> Said:
    body = {"container": w.bottles[n], "counted_base": 200_000, "text": None, "reason": "mark"}
    return w.entry("count", body)


def spilt(w: World, n: int) -> Said:
    body = {"container": w.bottles[n], "what": "waste", "amount_base": 1_000, "reason": "spilt"}
    return w.entry("container", body)


def _emergency(w: World, n: int, kind: str, **more: Any) -> Said:
    """A second later each: one emergency, and all taps on it."""
    moment = AT - timedelta(seconds=MANY * 2 - n)
    which = {"incident": "01956c3e-0000-7000-8000-000000000001", "card": "gasping", "drill": False}
    return w.entry(kind, {**which, **more}, done_at=moment.isoformat())


def alarm(w: World, n: int) -> Said:
    return _emergency(w, n, "incident_open", place={"kind": "tank", "key": f"T{n + 1:04}"})


def a_step(w: World, n: int) -> Said:
    more = {"step": "done", "line": n % 7 + 1, "text": None, "place": None}
    return _emergency(w, n, "incident_step", **more)


def over(w: World, n: int) -> Said:
    return _emergency(w, n, "incident_close", how="over", decided_by="Maud Ellerkamp")


COSTS: dict[tuple[str, str], tuple[Callable[[World, int], Said], int]] = {
    ("check", "a number"): (a_check, 12),
    ("check", "all normal"): (all_normal, 7),
    ("check", "in words"): (in_words, 6),
    ("unable", ""): (unable, 5),
    ("dose", ""): (lambda w, n: w.dose(n), 22),
    ("feed", ""): (a_feed, 21),
    ("complete", ""): (a_completion, 7),
    ("skip", "short of time"): (skip, 21),
    ("skip", "a claim"): (claimed, 11),
    ("animal", "dead"): (a_death, 12),
    ("note", ""): (a_note, 5),
    ("photo", ""): (a_photo, 7),
    ("handover_line", ""): (a_line, 15),
    ("handover_read", ""): (read, 7),
    ("undo", "a dose"): (undo, 51),
    ("move_record", "a dose"): (move, 86),
    ("amend", "a dose"): (amend, 81),
    ("round_open", ""): (opened, 6),
    ("stop_leave", ""): (left, 3),
    ("round_close", ""): (closed, 8),
    ("weigh", ""): (a_weighing, 16),
    ("press_calibration", ""): (presses, 9),
    ("feeder_calibration", ""): (portions, 13),
    ("eye_count", ""): (by_eye, 12),
    ("pressure", ""): (a_gauge, 6),
    ("decant", ""): (poured, 21),
    ("count", ""): (counted, 14),
    ("container", "waste"): (spilt, 12),
    ("incident_open", ""): (alarm, 25),
    ("incident_step", ""): (a_step, 14),
    ("incident_close", ""): (over, 15),
}
"""Kind of entry and which of its ways -> how one is made, and its statements."""


def test_no_kind_of_entry_is_without_a_stated_cost() -> None:
    assert {kind for kind, _way in COSTS} == set(HANDLERS)


@pytest.mark.parametrize("kind_and_way", COSTS, ids=" ".join)
def test_an_entry_costs_as_many_statements_in_a_large_batch_as_in_a_small_one(
    world: World,
    kind_and_way: tuple[str, str],
    monkeypatch: pytest.MonkeyPatch,
    request: pytest.FixtureRequest,
) -> None:
    monkeypatch.setattr(work, "_wanted_here", lambda *_: False)
    make, stated = COSTS[kind_and_way]

    def batch(first: int, size: int) -> int:
        entries = [make(world, n) for n in range(first, first + size)]
        if world.waiting:
            world.send(world.waiting)
            world.waiting.clear()
        return world.cost(entries)

    batch(FEW + MANY + 3, 1)  # what is looked up once for all batches
    is_whole = kind_and_way in OFTEN or request.config.getoption("--long")
    large = MANY if is_whole else SEVERAL
    few, many = batch(MANY + 2, FEW), batch(1, large)
    assert (many - few) / (large - FEW) == stated
