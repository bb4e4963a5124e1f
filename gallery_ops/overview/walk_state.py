"""How far has the opening walk come, tank by tank? Asked by board, wall, list and round list."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db.models import OuterRef, Subquery

from gallery_ops.drawing import State, Stop, TankShape
from gallery_ops.kernel.models import Alert, Showroom
from gallery_ops.kernel.queries.alerts import open_alerts
from gallery_ops.kernel.values.day import business_day
from gallery_ops.overview.drawings import shapes
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


def walk_state(showroom: Showroom, at: datetime) -> WalkState:
    """How every tank is today. A constant number of queries."""
    on = business_day(at, showroom.tz, showroom.cut_off_hour)
    rows = fleet(showroom, at)
    looks = shapes(showroom, at, rows)
    states = {row.tank.pk: TankState(row, looks[row.code]) for row in rows}
    for task in DueTask.objects.of(showroom).filter(
        due_on=on, template__round_kind="opening", tank__isnull=False
    ):
        one = states.get(task.tank_id)
        if one is None or task.state == "dropped":
            continue
        one.of += 1
        one.done += task.state == "done"
        one.skipped += task.state == "skipped"
    _seen(showroom, on, states)
    _held(showroom, on, states)
    by_code = {one.now.code: one for one in states.values()}
    for alert in open_alerts(showroom):
        if alert.subject_kind == "tank" and alert.subject_key in by_code:
            by_code[alert.subject_key].alerts.append(alert)
    _of_containers(showroom, states)
    return WalkState(on, [states[row.tank.pk] for row in rows])


def _seen(showroom: Showroom, on: date, states: dict[int, TankState]) -> None:
    for row in (
        Completion.objects.of(showroom)
        .standing()
        .filter(due_task__due_on=on, due_task__template__kind="look")
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


def _of_containers(showroom: Showroom, states: dict[int, TankState]) -> None:
    """An alert on the one cylinder of a tank stands at that tank too."""
    found: dict[str, list[Alert]] = defaultdict(list)
    for alert in open_alerts(showroom):
        if alert.subject_kind == "container":
            found[alert.subject_key].append(alert)
    if not found:
        return
    rows = Supply.objects.of(showroom).still().filter(tank__isnull=False)
    for tank_id, container_id in rows.values_list("tank_id", "container_id"):
        one = states.get(tank_id)
        if one is not None:
            one.alerts += found.get(container_key(container_id), [])
