"""When must a tank's gas cylinder be changed, and which due tasks ask for it?"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta

from gallery_ops.kernel.models import Showroom
from inventory.models import Forecast, ItemKind, Supply
from maintenance.models import DueTask
from tanks.models import Tank

CHANGE_KEY = "cylinder_change"
GAS_CHANGED, GAS_NEXT_DAY = "gas_changed", "gas_next_day"
LOOK_AFTER = timedelta(hours=2)
"""When the fish are watched after a change: a drop checker lags one to two hours (common practice,
no source)."""
WATCHED = timedelta(days=3)
"""So long the looks after a change are asked for; later ones tell nothing of it (own choice)."""
AHEAD_DAYS = 60
"""A change done so many days early still does the task that asked for it."""


def gas_ends(showroom: Showroom, at: datetime) -> dict[int, date]:
    """Tank id -> day by which its cylinder must be changed: the exchange-by day of its projection,
    else the first day on which it may be down to what stays in it. Two queries."""
    ends = {
        container_id: by or earliest
        for container_id, by, earliest in Forecast.objects.of(showroom)
        .filter(is_current=True, container__isnull=False, item__kind=ItemKind.GAS)
        .order_by("pk")
        .values_list("container_id", "order_by_on", "earliest_on")
        if by or earliest
    }
    fed = Supply.objects.of(showroom).at(at).filter(purpose="gas", tank__isnull=False)
    return {
        tank_id: ends[container_id]
        for tank_id, container_id in fed.order_by("pk").values_list("tank_id", "container_id")
        if container_id in ends
    }


def gas_changed(showroom: Showroom, at: datetime) -> dict[int, datetime]:
    """Tank id -> when its cylinder was changed within the last three days: another one took the
    place of the one before. Two queries."""
    since = at - WATCHED
    rows = Supply.objects.of(showroom).filter(purpose="gas", tank__isnull=False)
    came = list(
        rows.filter(from_at__gt=since, from_at__lte=at)
        .order_by("from_at", "pk")
        .values_list("tank_id", "container_id", "from_at")
    )
    if not came:
        return {}
    went = list(
        rows.filter(tank_id__in={tank_id for tank_id, _, _ in came}, to_at__gt=since)
        .order_by("pk")
        .values_list("tank_id", "container_id", "to_at")
    )
    return {
        tank_id: moment
        for tank_id, new, moment in came
        if any(of == tank_id and old != new and end <= moment for of, old, end in went)
    }


def due_clock(task: DueTask, showroom: Showroom) -> time | None:
    """Local time of day by which a task is due: its template's, or after a change its own."""
    if task.template.only_with == GAS_CHANGED:
        return task.due_at.astimezone(showroom.tz).time()
    found: time | None = task.template.due_time
    return found


def open_changes(showroom: Showroom, tanks: Iterable[Tank], today: date) -> list[DueTask]:
    """Open tasks to change the cylinder of these tanks, whenever they are due."""
    rows = DueTask.objects.of(showroom).filter(
        template__key=CHANGE_KEY,
        state="open",
        tank__in=[tank.pk for tank in tanks],
        due_on__lte=today + timedelta(days=AHEAD_DAYS),
    )
    return list(rows.select_related("template", "showroom").order_by("due_on", "pk"))
