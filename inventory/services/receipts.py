"""A van came: what it brought, whole, broken or instead of something else, in one transaction.

What came whole becomes a lot with its containers; what came broken settles the order but is no
stock, and carries the hour until which it can be claimed; what came instead is linked to what had
been ordered, kept or sent back. What is still to come of a line asks once: does it stay on order?
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import quantity
from gallery_ops.kernel.values.text import clean_text
from inventory.models import (
    GoodsReceipt,
    Item,
    ItemKind,
    Lot,
    OrderLine,
    PurchaseOrder,
    ReceiptLine,
)
from inventory.queries.orders import lines_of, outstanding, settled_packs
from inventory.services import remainders
from inventory.services.amounts import written
from inventory.services.order_state import locked, refuse_unsent, settle
from inventory.services.receipt_checks import Came, Instead, check_all
from inventory.services.receipt_stock import (
    Booking,
    CameCylinder,
    Printed,
    book_cylinders,
    book_packs,
    offer_of,
)
from inventory.services.said import Said, fact_columns, moment_of

LONGEST_LOT = 60

__all__ = ["Came", "CameCylinder", "Instead", "receive_goods"]


@transaction.atomic
def receive_goods(
    *,
    order: PurchaseOrder,
    came: Sequence[Came],
    by: Membership,
    at: datetime,
    delivery_note: str = "",
    **said: Unpack[Said],
) -> GoodsReceipt:
    """Write down what a van brought of an order; lines that are left out stay as they were.

    The same ``action_id`` again gives the same receipt and books nothing.

    Raises
    ------
    Refused
        an order that was not sent or is closed, nothing at all, a number out of range, a question
        that was left open; ``fields`` name them as ``<field>:<uid of the line>``.
    Forbidden
        "not wanted any more" by somebody who may not change plans.
    """
    require(by, "record", in_=order.showroom)
    order = locked(order)
    known = _known(order, said)
    if known is not None:
        return known
    refuse_unsent(order)
    lines = {line.pk: line for line in lines_of([order]).get(order.pk, [])}
    settled = settled_packs(lines.values())
    left = {key: outstanding(line, settled.get(key, 0)) for key, line in lines.items()}
    check_all(order, came, lines, left)
    receipt: GoodsReceipt = written(
        GoodsReceipt(
            **fact_columns(order.showroom, by, at, said),
            supplier=order.supplier,
            order=order,
            delivery_note=_clean(delivery_note, "Delivery note", "delivery_note"),
        )
    )
    booking = Booking(receipt, by, at, said)
    for number, one in enumerate(came, start=1):
        _book(booking, one, str(number), left[one.line.pk])
        _book_instead(booking, one, f"{number}.instead")
    for one in came:
        if one.stays is False:
            _waive_rest(order, one.line, by, at)
    settle(order, by=by, at=at)
    audit.record(
        by=by,
        at=at,
        deed="order.received",
        subject=order,
        after={"lines": [_said_of(one) for one in came]},
    )
    return receipt


def _book(booking: Booking, one: Came, name: str, left: int) -> None:
    """What came as ordered: one row a lot. What is broken stands with the first of them."""
    lots = _lots(booking, one, name)
    settles = min(left, one.whole + (0 if one.broken_again else one.broken))
    for index, (lot, packs) in enumerate(lots):
        broken = one.broken if index == 0 else 0
        is_last = index == len(lots) - 1
        counts = settles if is_last else min(settles, packs + broken)
        settles -= counts
        if not (packs or broken or one.instead is None):
            continue
        _line(
            booking,
            one.line,
            one.line.item,
            one.line.pack_base,
            packs_came=packs + broken,
            packs_broken=broken,
            counts_for_packs=counts,
            lot=lot,
            claim_until=_claim_until(booking) if broken else None,
        )


def _lots(booking: Booking, one: Came, name: str) -> list[tuple[Lot | None, int]]:
    line = one.line
    if not one.whole:
        return [(None, 0)]
    if line.item.kind == ItemKind.GAS:
        if _is_refill(booking, line):
            return [(None, one.whole)]
        found = book_cylinders(
            booking,
            line.item,
            line.pack_base,
            one.cylinders,
            one.whole,
            name=name,
            field=f"cylinders:{line.uid}",
        )
        return [(lot, 1) for lot in found]
    printed = _printed(one, line.price_cents)
    pack = quantity(line.item.dimension, line.pack_base)
    lot = book_packs(
        booking, line.item, pack, one.whole, printed, name=name, field=f"came:{line.uid}"
    )
    return [(lot, one.whole)]


def _book_instead(booking: Booking, one: Came, name: str) -> None:
    other = one.instead
    if other is None:
        return
    lot = None
    if other.keep:
        lot = book_packs(
            booking,
            other.item,
            other.pack,
            other.packs,
            _printed(one, None),
            name=name,
            field=f"instead:{one.line.uid}",
            sealed=other.sealed,
        )
    _line(
        booking,
        one.line,
        other.item,
        other.pack.base,
        packs_came=other.packs,
        counts_for_packs=other.settles_packs if other.keep else 0,
        is_kept=other.keep,
        lot=lot,
        claim_until=None if other.keep else _claim_until(booking),
        reason="came instead" if other.keep else "came instead, goes back",
    )


def _line(
    booking: Booking,
    line: OrderLine,
    item: Item,
    pack_base: int,
    *,
    packs_came: int,
    packs_broken: int = 0,
    counts_for_packs: int = 0,
    is_kept: bool = True,
    lot: Lot | None = None,
    claim_until: datetime | None = None,
    reason: str = "",
) -> None:
    is_same = item.pk == line.item_id and pack_base == line.pack_base
    written(
        ReceiptLine(
            **booking.facts(),
            receipt=booking.receipt,
            line=line,
            item=item,
            pack_base=pack_base,
            packs_came=packs_came,
            packs_broken=packs_broken,
            counts_for_packs=counts_for_packs,
            is_kept=is_kept,
            lot=lot,
            price_cents=line.price_cents if is_same else None,
            claim_until=claim_until,
            reason=reason,
        )
    )


def _printed(one: Came, price_cents: int | None) -> Printed:
    lot = _clean(one.maker_lot, f"{one.line.item.name}, lot", f"lot:{one.line.uid}")
    return Printed(maker_lot=lot, expires_on=one.expires_on, price_cents=price_cents)


def _is_refill(booking: Booking, line: OrderLine) -> bool:
    """Filled and brought back: the cylinder's own entry takes it, weighed and with its stamp."""
    offer = offer_of(booking, line.item, line.pack_base)
    return offer is not None and offer.how == "refill"


def _waive_rest(order: PurchaseOrder, line: OrderLine, by: Membership, at: datetime) -> None:
    if outstanding(line, settled_packs([line]).get(line.pk, 0)):
        require(by, "plan.change", in_=order.showroom)
        remainders.waive(
            order=order, line=line, packs=None, by=by, at=at, reason="said at the receipt"
        )


def _claim_until(booking: Booking) -> datetime | None:
    hours = booking.receipt.supplier.claim_hours
    if hours is None:
        return None
    return moment_of(booking.at, booking.said) + timedelta(hours=hours)


def _clean(text: str, label: str, field: str) -> str:
    try:
        return clean_text(text, field=label, longest=LONGEST_LOT)
    except OutOfRange as no:
        raise Refused.from_range(no, field=field) from None


def _said_of(one: Came) -> dict[str, object]:
    return {"item": one.line.item.code, "whole": one.whole, "broken": one.broken}


def _known(order: PurchaseOrder, said: Said) -> GoodsReceipt | None:
    if said.get("action_id") is None:
        return None
    found: GoodsReceipt | None = (
        GoodsReceipt.objects.of(order.showroom)
        .filter(action_id=said["action_id"], corrects=None)
        .first()
    )
    return found
