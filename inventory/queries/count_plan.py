"""What to measure this week, in walking order, and how far it is done.

The plan of a week is the same for everybody and all week: what was measured since Monday stays in
it, done. The rule is :mod:`inventory.forecast.counting_rule`.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from gallery_ops.kernel.models import Alert, Showroom
from gallery_ops.kernel.values.codes import printed
from gallery_ops.kernel.values.day import business_day, day_bounds
from inventory.forecast.counting_rule import Due, at_random, due_this_week, monday_of
from inventory.models import Container, ContainerKind, ItemKind, Supply
from inventory.queries.keys import parse_key
from inventory.queries.measured import LastMeasured, last_measured
from tanks.models import Placement, TankCode

BELOW_NOTHING = "below_nothing"
"""Kind of the alert that asks for a count because the books hold less than nothing."""
Order = tuple[int, int, int, str]
_AWAY = 10**6


@dataclass(frozen=True, slots=True)
class ToMeasure:
    """One container of the plan, or of all that can be measured (then ``due`` may be None)."""

    container_id: int
    code: str
    item_code: str
    is_gas: bool
    is_counted: bool
    """In pieces, or without a known empty mass: it is counted or its mark read, not weighed."""
    name: str
    where: str
    tank_codes: tuple[str, ...]
    order: Order
    due: Due | None
    last_at: datetime | None

    @property
    def short(self) -> str:
        """Its name on a button: a cylinder by its one tank, all else in full."""
        return self.tank_codes[0] if self.is_gas and len(self.tank_codes) == 1 else self.name

    @property
    def is_done(self) -> bool:
        """Measured this week."""
        return self.due is not None and self.due.done_on is not None


@dataclass(frozen=True, slots=True)
class WeekPlan:
    """The plan of the week of ``today``, in walking order."""

    monday: date
    today: date
    rows: list[ToMeasure]
    all_rows: list[ToMeasure] = field(repr=False)
    """Everything that can be measured: the plan first, then what was not measured for longest."""

    @property
    def done(self) -> int:
        """How many are measured."""
        return sum(1 for row in self.rows if row.is_done)


def week_plan(showroom: Showroom, at: datetime) -> WeekPlan:
    """The plan at a moment; nine queries, however many containers there are."""
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    monday = monday_of(today)
    start, _end = day_bounds(monday, showroom.tz, showroom.cut_off_hour)
    containers = _containers(showroom)
    fed = _fed(showroom, at)
    measured = last_measured(showroom, split=start, until=at)
    asked = _asked(showroom)
    rows = [
        _row(showroom, container, fed, measured.get(container.pk, LastMeasured()), asked, today)
        for container in containers
    ]
    rows = _with_random(showroom, rows, today)
    rows.sort(key=lambda row: row.order)
    planned = [row for row in rows if row.due is not None]
    rest = [row for row in rows if row.due is None]
    rest.sort(key=lambda row: (row.last_at is not None, row.last_at or at, row.order))
    return WeekPlan(monday, today, planned, planned + rest)


def _containers(showroom: Showroom) -> list[Container]:
    return list(
        Container.objects.of(showroom)
        .filter(voided_at=None, finished_on=None, item__voided_at=None, item__retired_at=None)
        .select_related("item", "room", "cylinder")
        .order_by("pk")
    )


@dataclass(slots=True)
class _Fed:
    """What containers feed, and where that stands."""

    tanks: dict[int, list[str]] = field(default_factory=lambda: defaultdict(list))
    zones: dict[int, list[str]] = field(default_factory=lambda: defaultdict(list))
    order: dict[int, Order] = field(default_factory=dict)


def _fed(showroom: Showroom, at: datetime) -> _Fed:
    codes = dict(
        TankCode.objects.of(showroom).filter(voided_at=None).at(at).values_list("tank_id", "code")
    )
    of_tank: dict[int, Order] = {}
    of_zone: dict[int, Order] = {}
    placed = Placement.objects.of(showroom).filter(voided_at=None).at(at)
    for tank_id, zone_id, room, place in placed.values_list(
        "tank_id",
        "position__zone_id",
        "position__room__walking_order",
        "position__walking_order",
    ):
        order = (0, room, place, codes.get(tank_id, ""))
        of_tank[tank_id] = order
        of_zone[zone_id] = min(order, of_zone.get(zone_id, order))
    fed = _Fed()
    supplies = Supply.objects.of(showroom).at(at).order_by("pk")
    for container_id, tank_id, zone_id, zone in supplies.values_list(
        "container_id", "tank_id", "zone_id", "zone__code"
    ):
        if tank_id in codes:
            fed.tanks[container_id].append(codes[tank_id])
        elif zone_id is not None:
            fed.zones[container_id].append(zone)
        found = of_tank.get(tank_id) if tank_id else of_zone.get(zone_id)
        if found is not None:
            fed.order[container_id] = min(found, fed.order.get(container_id, found))
    return fed


def _asked(showroom: Showroom) -> set[int]:
    """Containers of which the books hold less than nothing."""
    keys = Alert.objects.of(showroom).filter(closed_at=None, kind=BELOW_NOTHING)
    found = (parse_key(key) for key in keys.values_list("subject_key", flat=True))
    return {pk for kind, pk in filter(None, found) if kind == "container"}


def _row(
    showroom: Showroom,
    container: Container,
    fed: _Fed,
    measured: LastMeasured,
    asked: set[int],
    today: date,
) -> ToMeasure:
    count_class = container.item.count_class

    def day(moment: datetime | None) -> date | None:
        return None if moment is None else business_day(moment, showroom.tz, showroom.cut_off_hour)

    before, since = measured.before_for(count_class), measured.since_for(count_class)
    due = None
    tanks = tuple(sorted(fed.tanks.get(container.pk, ())))
    in_use = (
        container.opened_on is not None
        or container.pk in fed.order
        or container.item.dimension == "piece"
    )
    if container.pk in asked:
        due = Due(BELOW_NOTHING, today, None, None)
    elif in_use:
        due = due_this_week(
            count_class=count_class,
            measured_before_on=day(before),
            measured_this_week_on=day(since),
            today=today,
        )
    return ToMeasure(
        container_id=container.pk,
        code=container.code,
        item_code=container.item.code,
        is_gas=container.item.kind == ItemKind.GAS,
        is_counted=_is_counted(container),
        name=name_of(container, tanks),
        where=_where(container, tanks, fed.zones.get(container.pk, [])),
        tank_codes=tanks,
        order=fed.order.get(container.pk) or _store_order(container),
        due=due,
        last_at=since or before,
    )


def _is_counted(container: Container) -> bool:
    if container.item.dimension == "piece":
        return True
    return container.tare_mg is None and container.item.kind != ItemKind.GAS


def name_of(container: Container, tank_codes: Iterable[str]) -> str:
    """What people call it: a cylinder by the tanks it stands under, all else by its own name.

    One without a name is called by its item and code.
    """
    codes = list(tank_codes)
    if container.kind == ContainerKind.CYLINDER and codes:
        kind = container.get_kind_display().capitalize()
        shown = ", ".join(codes[:3]) + (f" and {len(codes) - 3} more" if len(codes) > 3 else "")
        return f"{kind} of {shown}"
    if container.name:
        return str(container.name)
    return f"{container.item.name}, {container.get_kind_display()} {printed(container.code)}"


def _where(container: Container, tanks: tuple[str, ...], zones: list[str]) -> str:
    if container.place:
        return container.place
    if tanks or zones:
        return ""
    return container.room.name if container.room is not None else ""


def _store_order(container: Container) -> Order:
    room = container.room.walking_order if container.room is not None else _AWAY
    counted = re.sub(r"\d+", lambda found: found[0].zfill(6), str(container))
    return (1, room, container.item_id, counted)


def _with_random(showroom: Showroom, rows: list[ToMeasure], today: date) -> list[ToMeasure]:
    """The rows with three items more in the plan, chosen by house and week."""
    planned = {row.item_code for row in rows if row.due is not None}
    names = {row.item_code for row in rows}
    house = showroom.code
    chosen = set(at_random(names, house=house, today=today, already=planned))
    start, _ = day_bounds(monday_of(today), showroom.tz, showroom.cut_off_hour)
    return [_chosen(row, start, showroom) if row.item_code in chosen else row for row in rows]


def _chosen(row: ToMeasure, start: datetime, showroom: Showroom) -> ToMeasure:
    on = None
    if row.last_at is not None and row.last_at >= start:
        on = business_day(row.last_at, showroom.tz, showroom.cut_off_hour)
    return replace(row, due=Due("random", None, None, on))
