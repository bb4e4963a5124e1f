"""How far has an order come? The one writer of its state, and the lock that goes before it."""

from __future__ import annotations

from datetime import datetime

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.work import want_work
from inventory.models import GoodsReceipt, OrderState, PurchaseOrder
from inventory.queries.orders import lines_of, outstanding, settled_packs
from inventory.services.wanting import stock_changed


def settle(order: PurchaseOrder, *, by: Membership, at: datetime) -> PurchaseOrder:
    """Write the state that follows from what was said; the only writer of it.

    The caller holds the lock of the order.
    """
    before = order.state
    lines = lines_of([order]).get(order.pk, [])
    settled = settled_packs(lines)
    to_come = [line for line in lines if outstanding(line, settled.get(line.pk, 0))]
    if order.sent_at is None:
        order.state = OrderState.DRAFT
    elif not to_come:
        order.state = OrderState.CLOSED
    elif GoodsReceipt.objects.standing().filter(order=order).exists():
        order.state = OrderState.PART_RECEIVED
    else:
        order.state = OrderState.SENT
    is_closed = order.state == OrderState.CLOSED
    order.closed_at = (order.closed_at or at) if is_closed else None
    order.save(update_fields=["state", "sent_at", "sent_by", "closed_at"])
    if order.state != before:
        audit.record(
            by=by,
            at=at,
            deed="order.state",
            subject=order,
            before={"state": str(before)},
            after={"state": str(order.state)},
        )
    for item in {line.item_id: line.item for line in lines}.values():
        stock_changed(order.showroom, at, item)
    want_work(order.showroom, "reorder", at=at)
    return order


def locked(order: PurchaseOrder) -> PurchaseOrder:
    """This order, locked until the end of the transaction."""
    found: PurchaseOrder = (
        PurchaseOrder.objects.select_for_update(of=("self",))
        .select_related("supplier", "showroom")
        .get(pk=order.pk)
    )
    return found


def locked_draft(order: PurchaseOrder, by: Membership) -> PurchaseOrder:
    """This draft, locked; Refused when it was sent or dropped."""
    require(by, "plan.change", in_=order.showroom)
    order = locked(order)
    refuse_gone(order)
    if order.sent_at is not None:
        raise Refused(
            "already_sent",
            f"Order {order} was sent and is not changed any more.",
            {"order": "Only a draft is changed."},
            "Begin another order, or say what is not wanted any more and ring them.",
        )
    return order


def refuse_gone(order: PurchaseOrder) -> None:
    """Raise when it was dropped."""
    if order.voided_at is not None:
        raise Refused(
            "order_dropped", f"Order {order} was dropped.", {"order": "Begin another one."}
        )


def refuse_unsent(order: PurchaseOrder) -> None:
    """Raise when it was not sent."""
    if order.sent_at is None:
        raise Refused(
            "not_sent",
            f"Order {order} was not sent: nothing of it is to come.",
            {"order": "Only an order that was sent."},
            "Say first that it is sent, or change the draft.",
        )
