"""Who delivers, and what is known of how long they take?

A lead time runs from the day on which an order was sent to the day on which the first of it came,
in business days of the showroom. The prior is what the supplier says; each order that came teaches.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import exp
from uuid import UUID

from django.db.models import Min, Q, QuerySet

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from inventory.forecast import delivery
from inventory.forecast.types import Supplier as Delivering
from inventory.models import PurchaseOrder, Supplier, SupplierItem

LEARNED_FROM = 40
"""At most so many of the last orders teach a lead time."""
AHEAD_DAYS = 365


@dataclass(frozen=True, slots=True)
class LeadKnown:
    """Days from order to van: what they say, and what the orders that came say with it.

    ``low_days`` to ``high_days``: nine orders in ten come within. ``n`` orders were learned from.
    """

    stated_days: int
    median_days: float
    low_days: int
    high_days: int
    seen: tuple[float, ...]

    @property
    def n(self) -> int:
        """Orders that it was learned from."""
        return len(self.seen)


def supplier_of(showroom: Showroom, uid: UUID) -> Supplier:
    """The supplier of this name for programs. Raises Unknown."""
    rows = Supplier.objects.of(showroom).filter(voided_at=None).select_related("showroom")
    found: Supplier | None = rows.filter(uid=uid).first()
    if found is None:
        raise Unknown("supplier")
    return found


def suppliers_listed(showroom: Showroom) -> QuerySet[Supplier]:
    """Everybody who delivers, by name."""
    rows: QuerySet[Supplier] = (
        Supplier.objects.of(showroom)
        .filter(voided_at=None)
        .select_related("showroom")
        .order_by("name", "pk")
    )
    return rows


def suppliers(showroom: Showroom) -> list[Supplier]:
    """The same with their closures; two queries."""
    return list(suppliers_listed(showroom).prefetch_related("closures"))


def offers(showroom: Showroom, supplier_ids: Iterable[int] | None = None) -> list[SupplierItem]:
    """What they sell, with item and supplier, preferred packs first; one query."""
    rows = SupplierItem.objects.of(showroom).filter(
        supplier__voided_at=None, item__voided_at=None, retired_at=None
    )
    if supplier_ids is not None:
        rows = rows.filter(supplier_id__in=list(supplier_ids))
    chosen = rows.select_related("item", "supplier")
    return list(chosen.order_by("item__name", "-is_preferred", "pack_base", "pk"))


def seen_leads(
    showroom: Showroom, supplier_ids: Iterable[int] | None = None, *, until: datetime | None = None
) -> dict[int, tuple[float, ...]]:
    """Supplier id -> days that each of its orders took, oldest first; one query.

    until : what came after this moment is left out, so that a past day is told as it stood
    """
    rows = PurchaseOrder.objects.of(showroom).filter(voided_at=None, sent_at__isnull=False)
    if supplier_ids is not None:
        rows = rows.filter(supplier_id__in=list(supplier_ids))
    stands = Q(receipts__takes_back=False, receipts__corrected_by__isnull=True)
    if until is not None:
        stands &= Q(receipts__done_at_corrected__lte=until)
    came = rows.annotate(came=Min("receipts__done_at_corrected", filter=stands))
    found: dict[int, list[float]] = defaultdict(list)
    for supplier_id, sent_at, came_at in (
        came.filter(came__isnull=False)
        .order_by("came", "pk")
        .values_list("supplier_id", "sent_at", "came")
    ):
        days = (day_of(showroom, came_at) - day_of(showroom, sent_at)).days
        found[supplier_id].append(float(max(days, 1)))
    return {key: tuple(days[-LEARNED_FROM:]) for key, days in found.items()}


def lead_known(supplier: Supplier, seen: tuple[float, ...] = ()) -> LeadKnown:
    """The lead time as it is known now."""
    known = delivery.lead_time(Delivering((), float(supplier.stated_lead_days), seen))
    below = known.by_day().cumsum()
    return LeadKnown(
        stated_days=supplier.stated_lead_days,
        median_days=exp(known.location),
        low_days=int((below < 0.05).sum()) + 1,
        high_days=int((below < 0.95).sum()) + 1,
        seen=seen,
    )


def delivering(
    supplier: Supplier,
    seen: tuple[float, ...] = (),
    *,
    lead_days: int | None = None,
    living: bool = False,
    past_cut_off: bool = False,
) -> Delivering:
    """A supplier as the forecast knows one; ``closures`` must have been prefetched.

    Parameters
    ----------
    lead_days : stated for one item, where it differs
    living : of plants and animals, which may arrive on fewer days
    """
    weekdays = supplier.delivery_weekdays
    if living and supplier.living_weekdays:
        weekdays = supplier.living_weekdays
    return Delivering(
        delivery_weekdays=tuple(n for n, mark in enumerate(weekdays) if mark == "1"),
        stated_lead_days=float(supplier.stated_lead_days if lead_days is None else lead_days),
        past_lead_days=seen,
        closures=tuple(sorted((c.from_on, c.to_on) for c in supplier.closures.all())),
        past_cut_off_today=past_cut_off,
    )


def is_past_cut_off(supplier: Supplier, at: datetime) -> bool:
    """Is today's last hour for an order over?"""
    clock = at.astimezone(supplier.showroom.tz).time()
    return supplier.cut_off_at is not None and clock > supplier.cut_off_at


def next_van(who: Delivering, after: date, *, least: date | None = None) -> date | None:
    """The first delivery day after ``after`` and not before ``least``; None within a year."""
    start = max(after, (least or after) - timedelta(days=1))
    days = delivery.arrivals(who, start, AHEAD_DAYS)
    first = int(days[1])
    found = start + timedelta(days=first)
    return found if first < AHEAD_DAYS or _delivers(who, found) else None


def window(who: Delivering, sent: date, chances: tuple[float, float]) -> tuple[date, date]:
    """Delivery days before which an order of that day comes with these two chances."""
    below = delivery.lead_time(who).by_day().cumsum()
    coming = delivery.arrivals(who, sent, AHEAD_DAYS)
    first, last = (
        int(coming[min(int(who.past_cut_off_today) + int((below < chance).sum()) + 1, AHEAD_DAYS)])
        for chance in chances
    )
    return sent + timedelta(days=first), sent + timedelta(days=last)


def day_of(showroom: Showroom, moment: datetime) -> date:
    """The business day of a moment in this showroom."""
    return business_day(moment, showroom.tz, showroom.cut_off_hour)


def _delivers(who: Delivering, day: date) -> bool:
    return day.weekday() in who.delivery_weekdays and not any(a <= day < b for a, b in who.closures)


def sold_by(showroom: Showroom, subject: str) -> tuple[int, ...]:
    """Items in packs of a supplier, who is named as in ``supplier:7``; one query."""
    kind, _, number = subject.partition(":")
    if kind != "supplier" or not number.isdecimal():
        return ()
    rows = SupplierItem.objects.of(showroom).filter(supplier_id=int(number))
    return tuple(rows.order_by("item_id").values_list("item_id", flat=True).distinct())
