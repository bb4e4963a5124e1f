"""What is still to come of a sent order, and is not wanted any more."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from inventory.models import OrderLine, PurchaseOrder
from inventory.queries.orders import lines_of, outstanding, settled_packs
from inventory.services.order_state import locked, refuse_unsent, settle


@transaction.atomic
def not_wanted(
    *, line: OrderLine, by: Membership, at: datetime, packs: int | None = None, reason: str = ""
) -> OrderLine:
    """So many of what is still to come of a line are not wanted any more; all of it when left out.

    The supplier must hear of it: a program cannot ring them.

    Raises
    ------
    Refused
        an order that was not sent, more packs than are still to come.
    """
    require(by, "plan.change", in_=line.showroom)
    order = locked(line.order)
    return waive(order=order, line=line, packs=packs, by=by, at=at, reason=reason)


@transaction.atomic
def cancel_order(
    *, order: PurchaseOrder, by: Membership, at: datetime, told: bool, reason: str = ""
) -> PurchaseOrder:
    """Nothing that is still to come of a sent order is wanted any more.

    Parameters
    ----------
    told : that the supplier was rung or written to; what is on its way comes all the same

    Raises
    ------
    Refused
        ``ring_them`` when the supplier does not know yet; a draft, a closed order.
    """
    require(by, "plan.change", in_=order.showroom)
    order = locked(order)
    refuse_unsent(order)
    if not told:
        contact = order.supplier.contact_private or order.supplier.email
        raise Refused(
            "ring_them",
            f"{order.supplier.name} has order {order}: they must be told first.",
            {"told": "Say that they were told."},
            f"Ring them{f' ({contact})' if contact else ''}, then say here that they know.",
        )
    lines = lines_of([order]).get(order.pk, [])
    settled = settled_packs(lines)
    for line in lines:
        if outstanding(line, settled.get(line.pk, 0)):
            waive(order=order, line=line, packs=None, by=by, at=at, reason=reason)
    return PurchaseOrder.objects.get(pk=order.pk)


def waive(
    *,
    order: PurchaseOrder,
    line: OrderLine,
    packs: int | None,
    by: Membership,
    at: datetime,
    reason: str = "",
) -> OrderLine:
    """The same for whoever holds the order's lock and has asked for the right."""
    refuse_unsent(order)
    line = OrderLine.objects.select_for_update().select_related("item").get(pk=line.pk)
    left = outstanding(line, settled_packs([line]).get(line.pk, 0))
    packs = left if packs is None else packs
    if not 1 <= packs <= left:
        raise Refused(
            "nothing_to_come",
            f"{line.item.name}: {packs} packs are not still to come.",
            {"packs": f"Allowed: 1 to {left}." if left else "All of it is here or not wanted."},
        )
    line.not_wanted_packs += packs
    line.save(update_fields=["not_wanted_packs"])
    audit.record(
        by=by,
        at=at,
        deed="order.not_wanted",
        subject=order,
        after={"item": line.item.code, "packs": packs},
        reason=reason,
    )
    settle(order, by=by, at=at)
    found: OrderLine = line
    return found
