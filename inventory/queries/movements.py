"""What came and went, newest first, and what was given day by day."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import QuerySet, Sum

from gallery_ops.kernel.values.quantity import Quantity, quantity
from inventory.models import Item, Movement, Use
from tanks.models import TankCode

MOVEMENTS_PER_PAGE = 25
USE_DAYS = 28


@dataclass(frozen=True, slots=True)
class Moved:
    """A movement, its signed amount, and the code of the tank that a use went to."""

    movement: Movement
    amount: Quantity
    tank: str


@dataclass(frozen=True, slots=True)
class Entries:
    """A page of movements, newest first, without a count of all."""

    rows: list[Moved]
    number: int
    has_next: bool

    @property
    def before(self) -> int:
        """Number of the page of newer ones."""
        return self.number - 1

    @property
    def after(self) -> int:
        """Number of the page of older ones."""
        return self.number + 1

    @property
    def has_previous(self) -> bool:
        """Are there newer ones?"""
        return self.number > 1


@dataclass(frozen=True, slots=True)
class DayUse:
    """What was given on one business day, and what the plan had asked for."""

    day: date
    given: Quantity
    planned: Quantity


def day_use(item: Item, today: date, days: int = USE_DAYS) -> list[DayUse]:
    """What was given of an item on each of the last days, today last; one query."""
    first = today - timedelta(days=days - 1)
    rows = (
        Use.objects.of(item.showroom)
        .standing()
        .filter(item=item, business_on__gte=first, business_on__lte=today)
        .order_by()
        .values_list("business_on")
        .annotate(given=Sum("given_base"), planned=Sum("planned_base"))
    )
    found = {day: (given, planned) for day, given, planned in rows}
    out = []
    for n in range(days):
        day = first + timedelta(days=n)
        given, planned = found.get(day, (0, 0))
        out.append(DayUse(day, quantity(item.dimension, given), quantity(item.dimension, planned)))
    return out


def entries_of(rows: QuerySet[Movement], number: int | str) -> Entries:
    """A page of these movements, newest first; two queries, and no count of all there are."""
    try:
        wanted = max(1, int(number))
    except ValueError:
        wanted = 1
    start = (wanted - 1) * MOVEMENTS_PER_PAGE
    found = list(
        rows.select_related("container", "person", "item", "use").order_by(
            "-done_at_corrected", "-pk"
        )[start : start + MOVEMENTS_PER_PAGE + 1]
    )
    kept = found[:MOVEMENTS_PER_PAGE]
    named = _codes({row.use.tank_id for row in kept if row.use is not None})
    shown = [
        Moved(
            movement=row,
            amount=quantity(row.item.dimension, row.amount_base),
            tank=named.get(row.use.tank_id, "") if row.use is not None else "",
        )
        for row in kept
    ]
    return Entries(shown, wanted, len(found) > MOVEMENTS_PER_PAGE)


def _codes(tank_ids: Collection[int]) -> dict[int, str]:
    """Tank id -> the code it has, or had last; one query."""
    rows = TankCode.objects.filter(tank__in=tank_ids, voided_at=None).order_by("from_at")
    return dict(rows.values_list("tank_id", "code"))
