"""How far has the opening walk come, tank by tank? Asked by board, wall, list and round list."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.db.models import OuterRef, Q, QuerySet, Subquery

from gallery_ops.drawing import State, Stop, TankShape
from gallery_ops.kernel.models import Alert, Showroom
from gallery_ops.kernel.queries.alerts import open_alerts
from gallery_ops.kernel.values.day import business_day
from gallery_ops.overview.drawings import shape_of, shapes
from inventory.models import Supply
from inventory.queries.keys import container_key
from maintenance.models import Action, Completion, DueTask, Round, Verdict
from maintenance.models import Stop as StopRow
from tanks.queries.tanks import TankNow, fleet


@dataclass(slots=True)
class TankState:
    """One tank today: what it is, how it looks, how far its stop is, what is said about it."""

    now: TankNow
    shape: TankShape
    done: int = 0
    of: int = 0
    skipped: int = 0
    seen_at: datetime | None = None
    seen_by: str = ""
    held: int = 0
    alerts: list[Alert] = field(default_factory=list)

    @property
    def size_text(self) -> str:
        """Outer length, width and height [cm]."""
        return " × ".join(f"{mm / 10:g}" for mm in self.now.sizes_mm)

    @property
    def is_empty(self) -> bool:
        """Nothing stands in it."""
        return self.now.layout is None

    @property
    def state(self) -> State:
        """The state of its stop."""
        if self.is_empty:
            return State.EMPTY
        if self.held:
            return State.HELD
        settled = self.done + self.skipped
        if self.of and settled >= self.of:
            return State.SKIPPED if not self.done else State.DONE
        return State.HALF if settled else State.TO_DO

    @property
    def is_seen(self) -> bool:
        """Did somebody look today?"""
        return self.seen_at is not None


@dataclass(frozen=True, slots=True)
class WalkState:
    """The whole fleet today, in walking order."""

    on: date
    tanks: list[TankState]

    @property
    def to_see(self) -> int:
        """Tanks that are to be looked at."""
        return sum(1 for tank in self.tanks if not tank.is_empty)

    @property
    def seen(self) -> int:
        """Tanks that somebody looked at."""
        return sum(1 for tank in self.tanks if tank.is_seen)

    def stops(self, href: str) -> list[Stop]:
        """As the drawing of the walk wants them; ``href`` has ``{code}`` in it."""
        return [
            Stop(tank.shape, tank.state, href=href.format(code=tank.now.code))
            for tank in self.tanks
        ]


def walk_state(showroom: Showroom, at: datetime, *, draws_below: int | None = None) -> WalkState:
    """How every tank is today. A constant number of queries.

    draws_below : from so many tanks on they are bare glass, for a page that then draws none
    """
    rows = fleet(showroom, at)
    if draws_below is not None and len(rows) >= draws_below:
        return _told(showroom, at, _as_glass(rows, at), Q())
    looks = shapes(showroom, at, rows)
    states = {row.tank.pk: TankState(row, looks[row.code]) for row in rows}
    return _told(showroom, at, states, Q())


def _as_glass(rows: list[TankNow], at: datetime) -> dict[int, TankState]:
    return {row.tank.pk: TankState(row, shape_of(row, None, at, has_animals=False)) for row in rows}


def state_of(showroom: Showroom, at: datetime, tank_ids: Collection[int]) -> WalkState:
    """The same of some tanks, as bare glass; costs what these tanks cost, not what the fleet does.

    For a page of a list, which draws nothing.
    """
    rows = fleet(showroom, at, tank_ids)
    states = _as_glass(rows, at)
    return _told(showroom, at, states, Q(tank__in=list(states)))


def _told(showroom: Showroom, at: datetime, states: dict[int, TankState], mine: Q) -> WalkState:
    """What tasks, looks, verdicts and alerts say of these tanks; ``mine`` finds their rows."""
    on = business_day(at, showroom.tz, showroom.cut_off_hour)
    tasks = DueTask.objects.of(showroom).filter(
        mine, due_on=on, template__round_kind="opening", tank__isnull=False
    )
    for tank_id, state in tasks.values_list("tank_id", "state").order_by():
        one = states.get(tank_id)
        if one is None or state == "dropped":
            continue
        one.of += 1
        one.done += state == "done"
        one.skipped += state == "skipped"
    _seen(showroom, on, states, mine)
    _held(showroom, on, states)
    by_code = {one.now.code: one for one in states.values()}
    alerts = open_alerts(showroom).filter(subject_kind="tank")
    for alert in alerts.filter(subject_key__in=list(by_code)) if mine else alerts:
        if alert.subject_key in by_code:
            by_code[alert.subject_key].alerts.append(alert)
    _of_containers(showroom, states, mine)
    return WalkState(on, list(states.values()))


def looked_at(showroom: Showroom, on: date) -> QuerySet[Any]:
    """The looks of a day that stand."""
    rows: QuerySet[Any] = (
        Completion.objects.of(showroom)
        .standing()
        .filter(due_task__due_on=on, due_task__template__kind="look")
    )
    return rows


def _seen(showroom: Showroom, on: date, states: dict[int, TankState], mine: Q) -> None:
    tasks = DueTask.objects.of(showroom).filter(mine, due_on=on)
    looks = looked_at(showroom, on)
    for row in (
        (looks.filter(due_task__in=tasks) if mine else looks)
        .select_related("person", "due_task")
        .order_by("done_at_corrected")
    ):
        one = states.get(row.due_task.tank_id)
        if one is not None and one.seen_at is None:
            one.seen_at, one.seen_by = row.done_at_corrected, row.person.given_name


def _held(showroom: Showroom, on: date, states: dict[int, TankState]) -> None:
    """Actions of today's rounds whose newest verdict is that a person must look."""
    newest = Verdict.objects.filter(action=OuterRef("pk")).order_by("-pk").values("outcome")[:1]
    rows = (
        Action.objects.of(showroom)
        .filter(round_code__in=_rounds(showroom, on))
        .annotate(outcome=Subquery(newest))
        .filter(outcome="held")
        .values_list("stop_key", flat=True)
    )
    keys: dict[str, int] = defaultdict(int)
    for key in rows:
        keys[key] += 1
    if not keys:
        return
    for stop in StopRow.objects.of(showroom).filter(round__business_on=on, tank__isnull=False):
        one = states.get(stop.tank_id)
        if one is not None:
            one.held += keys.get(str(stop.uid)[:20], 0)


def _rounds(showroom: Showroom, on: date) -> list[str]:
    return list(Round.objects.of(showroom).filter(business_on=on).values_list("code", flat=True))


def _of_containers(showroom: Showroom, states: dict[int, TankState], mine: Q) -> None:
    """An alert on the one cylinder of a tank stands at that tank too."""
    rows = Supply.objects.of(showroom).still().filter(mine, tank__isnull=False)
    fed = list(rows.values_list("tank_id", "container_id"))
    alerts = open_alerts(showroom).filter(subject_kind="container")
    if mine:
        alerts = alerts.filter(subject_key__in=[container_key(key) for _tank, key in fed])
    found: dict[str, list[Alert]] = defaultdict(list)
    for alert in alerts:
        found[alert.subject_key].append(alert)
    for tank_id, container_id in fed:
        one = states.get(tank_id)
        if one is not None:
            one.alerts += found.get(container_key(container_id), [])
