"""What things cost and what may be spent: prices with their history, money for a month."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.work import want_work
from inventory.models import MonthBudget, OrderLine, OrderState, PriceSeen, SupplierItem
from inventory.services.amounts import written
from inventory.services.said import fact_columns, local_day

MOST_CENTS = 10**9
"""No pack costs more, and no month has more set aside [minor units]."""


@transaction.atomic
def set_price(
    *,
    offer: SupplierItem,
    price_cents: int,
    by: Membership,
    at: datetime,
    from_on: date | None = None,
) -> SupplierItem:
    """A pack costs so much from a day on; the price before it stays in the history.

    A price of a day before the newest one goes into the history and changes nothing else. Lines of
    drafts follow, what was sent keeps the price at which it was ordered.

    Raises
    ------
    Refused
        a price below 0 or out of range, a day that lies ahead.
    """
    require(by, "price.change", in_=offer.showroom)
    today = local_day(offer.showroom, at)
    if from_on is not None and from_on > today:
        raise Refused(
            "price_ahead",
            f"From: {from_on:%-d %B %Y} lies ahead.",
            {"from_on": "Today or before."},
            "Enter it on the day from which it holds.",
        )
    check_cents("price", price_cents)
    offer = SupplierItem.objects.select_for_update().get(pk=offer.pk)
    before, from_on = offer.price_cents, from_on or today
    if _is_known(offer, price_cents, from_on):
        return offer
    note_price(offer, price_cents, by=by, at=at, from_on=from_on)
    later = PriceSeen.objects.standing().filter(supplier_item=offer, from_on__gt=from_on)
    if later.exists():
        audit.record(
            by=by,
            at=at,
            deed="price.noted",
            subject=offer,
            after={"price_cents": price_cents, "from_on": from_on},
        )
        return offer
    offer.price_cents = price_cents
    offer.save(update_fields=["price_cents"])
    OrderLine.objects.filter(
        order__supplier=offer.supplier_id,
        order__state=OrderState.DRAFT,
        order__voided_at=None,
        item=offer.item_id,
        pack_base=offer.pack_base,
        voided_at=None,
    ).update(price_cents=price_cents)
    audit.record(
        by=by,
        at=at,
        deed="price.changed",
        subject=offer,
        before={"price_cents": before},
        after={"price_cents": price_cents},
    )
    return offer


def _is_known(offer: SupplierItem, price_cents: int, from_on: date) -> bool:
    """Was it this price on that day already, by the last that was noted until then?"""
    seen = PriceSeen.objects.standing().filter(supplier_item=offer, from_on__lte=from_on)
    last = seen.order_by("-from_on", "-pk").values_list("price_cents", flat=True).first()
    return (offer.price_cents if last is None else int(last)) == price_cents


def note_price(
    offer: SupplierItem,
    price_cents: int,
    *,
    by: Membership,
    at: datetime,
    from_on: date | None = None,
) -> PriceSeen:
    """One line of the history, for a service that has asked for the right."""
    seen: PriceSeen = written(
        PriceSeen(
            **fact_columns(offer.showroom, by, at, {}),
            supplier_item=offer,
            price_cents=price_cents,
            from_on=from_on or local_day(offer.showroom, at),
        )
    )
    return seen


@transaction.atomic
def set_budget(
    *, showroom: Showroom, month_on: date, amount_cents: int, by: Membership, at: datetime
) -> MonthBudget:
    """Money set aside for the orders of a month by the owner; said again, it is replaced.

    month_on : any day of the month
    """
    require(by, "price.change", in_=showroom)
    check_cents("amount", amount_cents)
    first = month_on.replace(day=1)
    row = MonthBudget.objects.of(showroom).select_for_update().filter(month_on=first).first()
    before = row.amount_cents if row is not None else None
    if row is None:
        row = written(
            MonthBudget(
                showroom=showroom,
                month_on=first,
                amount_cents=amount_cents,
                made_at=at,
                made_by=by.person,
            )
        )
    elif before != amount_cents:
        row.amount_cents, row.made_at, row.made_by = amount_cents, at, by.person
        row.save(update_fields=["amount_cents", "made_at", "made_by"])
    audit.record(
        by=by,
        at=at,
        deed="budget.set",
        subject=row,
        before={"amount_cents": before},
        after={"month": first, "amount_cents": amount_cents},
    )
    want_work(showroom, "reorder", at=at)
    found: MonthBudget = row
    return found


def check_cents(field: str, cents: int) -> None:
    """Raise Refused below 0 and above what can be meant."""
    if not 0 <= cents <= MOST_CENTS:
        raise Refused(
            "out_of_range",
            f"{field.capitalize()}: this is not allowed.",
            {field: f"Allowed: 0 to {MOST_CENTS // 100:,}."},
            "Check the number.",
        )
