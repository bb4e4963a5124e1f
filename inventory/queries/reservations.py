"""What is spoken for, and how much of it is here?"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Sum

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.quantity import Quantity, quantity
from inventory.models import Item, Movement, Reservation
from tanks.models import TankCode


@dataclass(frozen=True, slots=True)
class Kept:
    """One reservation; ``here`` of its amount lies in stock, the rest is to be bought."""

    reservation: Reservation
    amount: Quantity
    here: Quantity
    tank_code: str

    @property
    def is_whole(self) -> bool:
        """Is all of it here?"""
        return self.here.base == self.amount.base


def reservations_open(showroom: Showroom, at: datetime) -> list[Kept]:
    """What is spoken for, by the day on which it is needed. Who asked first is served first.

    Three queries.
    """
    rows = list(
        Reservation.objects.of(showroom)
        .filter(released_at=None)
        .select_related("item", "tank", "made_by")
        .order_by("needed_on", "pk")
    )
    left = _stock({row.item_id for row in rows})
    codes = dict(
        TankCode.objects.of(showroom)
        .at(at)
        .filter(tank__in=[row.tank_id for row in rows if row.tank_id], voided_at=None)
        .order_by("pk")
        .values_list("tank_id", "code")
    )
    here: dict[int, int] = {}
    for row in sorted(rows, key=lambda row: (row.made_at, row.pk)):
        here[row.pk] = max(0, min(row.amount_base, left[row.item_id]))
        left[row.item_id] -= here[row.pk]
    return [
        Kept(
            row,
            quantity(row.item.dimension, row.amount_base),
            quantity(row.item.dimension, here[row.pk]),
            codes.get(row.tank_id, "") if row.tank_id else "",
        )
        for row in rows
    ]


def reserved_of(item: Item) -> list[Reservation]:
    """What of an item is spoken for, by the day on which it is needed."""
    rows = Reservation.objects.filter(item=item, released_at=None)
    return list(rows.order_by("needed_on", "pk"))


def free_base(item: Item) -> int:
    """What is here of an item and not spoken for; less than nothing where more is [base units]."""
    kept = Reservation.objects.filter(item=item, released_at=None)
    spoken_for = kept.aggregate(total=Sum("amount_base"))["total"] or 0
    return _stock({item.pk})[item.pk] - int(spoken_for)


def stock_of(item_ids: set[int]) -> dict[int, int]:
    """What the books hold of each, spoken for or not [base units]; one query."""
    return dict(_stock(item_ids))


def _stock(item_ids: set[int]) -> dict[int, int]:
    """What the books hold of each in containers that are not finished [base units]."""
    found: dict[int, int] = defaultdict(int)
    rows = (
        Movement.objects.filter(
            item__in=item_ids, container__finished_on=None, container__voided_at=None
        )
        .order_by()
        .values_list("item_id")
        .annotate(total=Sum("amount_base"))
    )
    found.update({item_id: int(total or 0) for item_id, total in rows})
    return found
