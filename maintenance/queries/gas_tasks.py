"""When must a tank's gas cylinder be changed, and which due tasks ask for it?"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from gallery_ops.kernel.models import Showroom
from inventory.models import Forecast, ItemKind, Supply
from maintenance.models import DueTask
from tanks.models import Tank

CHANGE_KEY = "cylinder_change"
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


def open_changes(showroom: Showroom, tanks: Iterable[Tank], today: date) -> list[DueTask]:
    """Open tasks to change the cylinder of these tanks, whenever they are due."""
    rows = DueTask.objects.of(showroom).filter(
        template__key=CHANGE_KEY,
        state="open",
        tank__in=[tank.pk for tank in tanks],
        due_on__lte=today + timedelta(days=AHEAD_DAYS),
    )
    return list(rows.select_related("template", "showroom").order_by("due_on", "pk"))
