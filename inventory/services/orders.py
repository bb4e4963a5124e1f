"""Orders: drafted, sent, received in parts, closed.

The state has one writer, ``order_state.settle``, which reads it off what was said: not sent is a
draft; a receipt makes it part received; nothing outstanding closes it. Nothing else closes an
order: what is still to come stays on it until it came or somebody says that it is not wanted.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.db.models import Max

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import Quantity, quantity
from gallery_ops.kernel.values.text import clean_text
from inventory.models import (
    Item,
    OrderLine,
    OrderState,
    PurchaseOrder,
    Supplier,
    SupplierItem,
)
from inventory.queries.orders import lines_of
from inventory.services.amounts import base_of, written
from inventory.services.order_state import locked, locked_draft, refuse_gone, settle
from inventory.services.prices import check_cents
from inventory.services.said import same_house

MOST_PACKS = 10_000
LONGEST_NOTE = 2_000


# --- a draft ------------------------------------------------------------------------------------
@transaction.atomic
def draft_order(*, supplier: Supplier, by: Membership, at: datetime) -> PurchaseOrder:
    """The one open draft to this supplier, begun if there is none. Numbers count up per showroom
    and are never used again.
    """
    showroom = supplier.showroom
    require(by, "plan.change", in_=showroom)
    if supplier.voided_at is not None:
        raise Refused(
            "supplier_gone",
            f"{supplier.name} is not a supplier any more.",
            {"supplier": "Choose another one."},
        )
    Showroom.objects.select_for_update(no_key=True).get(pk=showroom.pk)
    known: PurchaseOrder | None = PurchaseOrder.objects.filter(
        supplier=supplier, state=OrderState.DRAFT, voided_at=None
    ).first()
    if known is not None:
        return known
    last = PurchaseOrder.objects.of(showroom).aggregate(last=Max("number"))["last"]
    order: PurchaseOrder = written(
        PurchaseOrder(
            showroom=showroom,
            number=(last or 0) + 1,
            supplier=supplier,
            made_at=at,
            made_by=by.person,
        )
    )
    audit.record(by=by, at=at, deed="order.begun", subject=order, after={"supplier": supplier.name})
    return order


@transaction.atomic
def set_line(
    *,
    order: PurchaseOrder,
    item: Item,
    pack: Quantity,
    packs: int,
    by: Membership,
    at: datetime,
    because: Mapping[str, Any] | None = None,
) -> OrderLine:
    """So many packs of an item on a draft; the same pack again changes their number.

    Parameters
    ----------
    pack : what one pack holds, in the item's dimension; one that the supplier sells
    packs : 1 to 10,000
    because : why so many, kept with the line as it is given

    Raises
    ------
    Refused
        an order that is no draft, a pack that the supplier does not sell, a number out of range.
    """
    order = locked_draft(order, by)
    same_house(order.showroom, item=item)
    pack_base = base_of(item, pack, field="pack", least=1)
    _check_packs(packs)
    offer = _offer(order, item, pack_base)
    line = OrderLine.objects.filter(
        order=order, item=item, pack_base=pack_base, voided_at=None
    ).first()
    if line is None:
        line = written(
            OrderLine(
                showroom=order.showroom,
                order=order,
                item=item,
                pack_base=pack_base,
                packs=packs,
                price_cents=offer.price_cents,
                because=audit.plain(dict(because or {})),
            )
        )
    else:
        line.packs, line.price_cents = packs, offer.price_cents
        if because is not None:
            line.because = audit.plain(dict(because))
        line.save(update_fields=["packs", "price_cents", "because"])
    audit.record(
        by=by,
        at=at,
        deed="order.line_set",
        subject=order,
        after={"item": item.code, "pack": pack.text(), "packs": packs},
    )
    found: OrderLine = line
    return found


@transaction.atomic
def remove_line(*, line: OrderLine, by: Membership, at: datetime) -> None:
    """Take a line off a draft; off already, nothing changes."""
    order = locked_draft(line.order, by)
    line = OrderLine.objects.select_for_update().get(pk=line.pk)
    if line.voided_at is not None:
        return
    line.voided_at = at
    line.save(update_fields=["voided_at"])
    audit.record(
        by=by,
        at=at,
        deed="order.line_removed",
        subject=order,
        before={"item": line.item.code, "packs": line.packs},
    )


@transaction.atomic
def change_order(
    *,
    order: PurchaseOrder,
    by: Membership,
    at: datetime,
    wanted_on: date | None = None,
    note: str = "",
    carriage_cents: int | None = None,
) -> PurchaseOrder:
    """What a draft asks for beside its lines: the van, a sentence, carriage where it is known.

    ``carriage_cents`` None: by the supplier's rule.
    """
    order = locked_draft(order, by)
    if carriage_cents is not None:
        check_cents("carriage", carriage_cents)
    try:
        note = clean_text(note, field="Note", longest=LONGEST_NOTE, lines=True)
    except OutOfRange as no:
        raise Refused.from_range(no, field="note") from None
    return _put(
        order,
        "order.changed",
        by,
        at,
        wanted_on=wanted_on,
        note=note,
        carriage_cents=carriage_cents,
    )


@transaction.atomic
def drop_draft(*, order: PurchaseOrder, by: Membership, at: datetime) -> None:
    """A draft that will not be sent; its number stays used. Dropped already, nothing changes."""
    if order.voided_at is not None:
        return
    order = locked_draft(order, by)
    _put(order, "order.dropped", by, at, voided_at=at)


# --- sent ---------------------------------------------------------------------------------------
@transaction.atomic
def send_order(*, order: PurchaseOrder, by: Membership, at: datetime) -> PurchaseOrder:
    """It was sent: from now on it is on order. Sent already, nothing changes.

    Raises Refused when nothing stands on it.
    """
    require(by, "plan.change", in_=order.showroom)
    order = locked(order)
    if order.sent_at is not None:
        return order
    refuse_gone(order)
    if not lines_of([order]).get(order.pk):
        raise Refused(
            "empty_order",
            f"Order {order} is empty.",
            {"lines": "At least one line."},
            "Put something on it, or drop it.",
        )
    order.sent_by = by.person
    order.sent_at = at
    settle(order, by=by, at=at)
    audit.record(by=by, at=at, deed="order.sent", subject=order, after={"number": order.number})
    return order


def _check_packs(packs: int) -> None:
    if not 1 <= packs <= MOST_PACKS:
        raise Refused(
            "out_of_range",
            f"Packs: {packs} is not allowed.",
            {"packs": f"Allowed: 1 to {MOST_PACKS:,}."},
            "To take it off the order, remove the line.",
        )


def _offer(order: PurchaseOrder, item: Item, pack_base: int) -> SupplierItem:
    found: SupplierItem | None = SupplierItem.objects.filter(
        supplier=order.supplier, item=item, pack_base=pack_base, retired_at=None
    ).first()
    if found is None:
        pack = quantity(item.dimension, pack_base).text()
        raise Refused(
            "not_sold",
            f"{order.supplier.name} does not sell {item.name} in packs of {pack}.",
            {"pack": "One of the packs that they sell."},
            "Add the pack to the supplier, or choose another one.",
        )
    return found


def _put(
    order: PurchaseOrder, deed: str, by: Membership, at: datetime, **changes: Any
) -> PurchaseOrder:
    before = {key: getattr(order, key) for key in changes}
    for key, value in changes.items():
        setattr(order, key, value)
    order.save(update_fields=list(changes))
    audit.record(by=by, at=at, deed=deed, subject=order, before=before, after=changes)
    return order
