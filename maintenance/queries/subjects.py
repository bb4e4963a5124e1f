"""Which tanks, zones and rooms can a task be about, and what of them decides whether it is due?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db.models import Exists, OuterRef

from gallery_ops.kernel.models import Closure, Showroom
from gallery_ops.kernel.values.day import days, local
from inventory.models import Container
from inventory.queries.livestock import heads
from inventory.queries.plans import Step, steps
from maintenance.models import Scope
from maintenance.queries.gas_tasks import GAS_CHANGED, GAS_NEXT_DAY, gas_changed, gas_ends
from tanks.models import Placement, Purpose, Room, Tank, TankCode, Zone
from tanks.queries.tanks import TankNow, fleet

IN_USE = "in_use"
VACANT = "vacant"
TANK_IN_ROOM = "tank_in_room"
PURPOSES = {"dose_plan": "dose", "feed_plan": "food", "gas_plan": "gas"}


@dataclass(frozen=True, slots=True)
class Subject:
    """What one due task is about.

    stage : of the layout; `in_use` for a holding tank that is lived in; `vacant`.
    number : tells subjects of one scope apart: the first that came to the showroom is 1. It is not
        the row's key, which depends on what else stands in the database.
    """

    key: str
    scope: str
    number: int
    label: str = ""
    tank_id: int | None = None
    zone_id: int | None = None
    room_id: int | None = None
    stage: str = ""
    since: date | None = None
    flooded_on: date | None = None


@dataclass(frozen=True, slots=True)
class Ground:
    """All that decides which tasks are due, read in a constant number of queries."""

    subjects: tuple[Subject, ...]
    steps: dict[tuple[int, str], list[Step]] = field(default_factory=dict)
    closed: frozenset[date] = frozenset()
    has_pump_bottle: bool = False
    gas_ends: dict[int, date] = field(default_factory=dict)
    """Tank id -> day by which its cylinder must be changed."""
    gas_changed: dict[int, datetime] = field(default_factory=dict)
    """Tank id -> when its cylinder was changed, within the last days."""
    rooms_with_tanks: frozenset[int] = frozenset()

    def of_scope(self, scope: str) -> list[Subject]:
        """Subjects of a task of this scope."""
        return [subject for subject in self.subjects if subject.scope == scope]

    def holds(self, only_with: str, subject: Subject, day: date) -> bool:
        """Is the plan or thing there, without which the task is not due on that day?"""
        if only_with in PURPOSES and subject.tank_id is not None:
            planned = self.steps.get((subject.tank_id, PURPOSES[only_with]), [])
            return any(step.on(day) for step in planned)
        if only_with == "feeder":
            fed = (
                step
                for (_, purpose), found in self.steps.items()
                if purpose == "food"
                for step in found
            )
            return any(step.means == "feeder" for step in fed)
        if only_with == "pump_bottle":
            return self.has_pump_bottle
        if only_with == "gas_ends":
            ends = self.gas_ends.get(subject.tank_id or 0)
            return ends is not None and ends <= day
        if only_with == TANK_IN_ROOM:
            return subject.room_id in self.rooms_with_tanks
        if only_with in {GAS_CHANGED, GAS_NEXT_DAY}:
            return (subject.tank_id or 0) in self.gas_changed
        return True


def ground(
    showroom: Showroom, first: date, last: date, at: datetime, *, with_gas: bool = True
) -> Ground:
    """What decides which tasks are due from `first` to `last`. 17 queries, however many tanks.

    with_gas : also by when each cylinder must be changed, and which was changed lately.
    """
    return Ground(
        subjects=tuple(_subjects(showroom, at)),
        steps=_steps(showroom, first, last),
        closed=frozenset(_closed(showroom, first, last)),
        has_pump_bottle=Container.objects.of(showroom)
        .filter(press_nominal_ul__isnull=False, finished_on=None, voided_at=None)
        .exists(),
        gas_ends=gas_ends(showroom, at) if with_gas else {},
        gas_changed=gas_changed(showroom, at) if with_gas else {},
        rooms_with_tanks=frozenset(
            Placement.objects.of(showroom)
            .at(at)
            .filter(voided_at=None, tank__retired_at=None)
            .values_list("position__room_id", flat=True)
        ),
    )


def tank_subjects(showroom: Showroom, at: datetime) -> list[Subject]:
    """Every tank, also the vacant ones, in walking order."""
    rows = [row for row in fleet(showroom, at) if row.tank.retired_at is None]
    others = {row.tank.pk for row in rows if row.tank.purpose != Purpose.DISPLAY}
    lived_in = {head.tank_id for head in heads(showroom, at, tank_ids=others)} if others else set()
    numbers = _numbers(showroom)
    return [_tank(showroom, row, numbers[row.tank.pk], row.tank.pk in lived_in) for row in rows]


def _numbers(showroom: Showroom) -> dict[int, int]:
    """Tank key -> its number; a new glass has that of the glass which it replaced. One query."""
    same = TankCode.objects.filter(
        tank=OuterRef("pk"), voided_at=None, from_at=OuterRef("came_from__retired_at")
    )
    came = Tank.objects.of(showroom).annotate(in_place=Exists(same)).order_by("pk")
    numbers: dict[int, int] = {}
    rows = came.values_list("pk", "came_from_id", "in_place")
    for number, (pk, before, in_place) in enumerate(rows, 1):
        numbers[pk] = numbers.get(before, number) if in_place else number
    return numbers


def _subjects(showroom: Showroom, at: datetime) -> Iterable[Subject]:
    yield from tank_subjects(showroom, at)
    for number, zone in enumerate(Zone.objects.of(showroom).order_by("pk"), 1):
        if zone.voided_at is None:
            yield Subject(f"zone:{zone.pk}", Scope.ZONE, number, zone.code, zone_id=zone.pk)
    for number, room in enumerate(Room.objects.of(showroom).order_by("pk"), 1):
        if room.voided_at is None and room.retired_at is None:
            yield Subject(f"room:{room.pk}", Scope.ROOM, number, room.name, room_id=room.pk)
    yield Subject("fleet", Scope.FLEET, 0, showroom.name)


def _tank(showroom: Showroom, row: TankNow, number: int, is_lived_in: bool) -> Subject:
    stage = row.stage
    if row.tank.purpose != Purpose.DISPLAY and (row.layout is not None or is_lived_in):
        stage = IN_USE
    layout = row.layout
    since = local(layout.from_at, showroom.tz).date() if layout else row.empty_since_on
    return Subject(
        key=f"tank:{row.tank.pk}",
        scope=Scope.TANK,
        number=number,
        label=row.code,
        tank_id=row.tank.pk,
        stage=stage,
        since=since,
        flooded_on=layout.flooded_on if layout else None,
    )


def _steps(showroom: Showroom, first: date, last: date) -> dict[tuple[int, str], list[Step]]:
    found: dict[tuple[int, str], list[Step]] = {}
    for step in steps(showroom, first, last):
        found.setdefault((step.tank_id, step.purpose), []).append(step)
    return found


def _closed(showroom: Showroom, first: date, last: date) -> Iterable[date]:
    """Closed days that touch the window; whole closures, since a task may move to either end."""
    touching = Closure.objects.of(showroom).filter(from_on__lte=last, to_on__gt=first)
    for closure in touching:
        for day in days(closure.from_on, closure.to_on):
            if day < closure.to_on:
                yield day
