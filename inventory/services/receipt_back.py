"""A whole receipt was written down by mistake: the van never came, or it was of another order.

Everything that it booked is undone by further rows: movements, deposits, what came of each line.
Its containers count as never written, and what was ordered is to come again. Nothing of it may have
been used: then what is true is told by counts and returns, not by undoing the van.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any, Unpack

from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.text import clean_text
from inventory.models import (
    Container,
    Deposit,
    EyeCount,
    GoodsReceipt,
    Lot,
    Movement,
    MovementKind,
    ReceiptLine,
    Supply,
    Weighing,
)
from inventory.services import ledger
from inventory.services.order_state import locked, settle
from inventory.services.receipt_stock import WENT_BACK
from inventory.services.said import Said, columns_of_taking_back
from inventory.services.wanting import stock_changed

LONGEST_REASON = 200
NAMED = 3


@transaction.atomic
def take_back_receipt(
    *, receipt: GoodsReceipt, reason: str, by: Membership, at: datetime, **said: Unpack[Said]
) -> GoodsReceipt:
    """Undo a van as a whole; gives the row that says so. Taken back already, the same row.

    What was said to be not wanted any more stays so: they may have been told.

    Raises
    ------
    Forbidden
        without the right to correct.
    Refused
        ``used`` when something of it was opened, connected, measured or given, with its name;
        ``reason_missing``.
    """
    require(by, "correct", in_=receipt.showroom)
    order = locked(receipt.order) if receipt.order is not None else None
    receipt = GoodsReceipt.objects.select_for_update().get(pk=receipt.pk)
    known: GoodsReceipt | None = GoodsReceipt.objects.filter(corrects=receipt).first()
    if known is not None:
        return known
    reason = _reason(reason)
    lots = Lot.objects.filter(receipt_lines__receipt=receipt).order_by("pk").distinct()
    keys = Container.objects.filter(lot__in=lots, voided_at=None).values_list("pk", flat=True)
    containers = ledger.lock_keys(keys)
    _refuse_used(containers)
    back: GoodsReceipt = GoodsReceipt.objects.create(
        **columns_of_taking_back(receipt, by, at, said),
        supplier=receipt.supplier,
        order=receipt.order,
        delivery_note=receipt.delivery_note,
        carriage_cents=receipt.carriage_cents,
    )
    _reverse_movements(containers, reason, by, at, said)
    _bring_back(receipt, by, at, said)
    for deposit in Deposit.objects.standing().filter(receipt=receipt).order_by("pk"):
        Deposit.objects.create(
            **columns_of_taking_back(deposit, by, at, said),
            supplier=deposit.supplier,
            container=deposit.container,
            receipt=back,
            amount_cents=-deposit.amount_cents,
            reason=reason,
        )
    _take_back_lines(receipt, back, reason, by, at, said)
    Container.objects.filter(pk__in=list(containers)).update(voided_at=at)
    Lot.objects.filter(pk__in=[lot.pk for lot in lots]).update(voided_at=at)
    if order is not None:
        settle(order, by=by, at=at)
    for item in {one.item_id: one.item for one in containers.values()}.values():
        stock_changed(receipt.showroom, at, item)
    audit.record(
        by=by,
        at=at,
        deed="receipt.taken_back",
        subject=receipt,
        before={"containers": [one.code for one in containers.values()]},
        reason=reason,
    )
    return back


def _reason(text: str) -> str:
    try:
        reason = clean_text(text, field=str(_("Reason")), longest=LONGEST_REASON)
    except OutOfRange as no:
        raise Refused.from_range(no, field="reason") from None
    if not reason:
        raise Refused(
            "reason_missing",
            _("Why? Nothing was given."),
            {"reason": _("1 to 200 characters, such as: written down for the wrong order.")},
        )
    return reason


def _refuse_used(containers: dict[int, Container]) -> None:
    """Raise Refused that names what was used of it."""
    keys = list(containers)
    touched = {pk for pk, one in containers.items() if one.opened_on or one.finished_on}
    touched |= _of(Supply.objects.filter(container__in=keys))
    touched |= _of(Weighing.objects.standing().filter(container__in=keys))
    touched |= _of(EyeCount.objects.standing().filter(container__in=keys))
    touched |= _of(
        Movement.objects.standing().filter(container__in=keys).exclude(kind=MovementKind.RECEIPT)
    )
    if not touched:
        return
    used = [containers[pk] for pk in sorted(touched)]
    names = ", ".join(f"{one.item.name} {one.code}" for one in used[:NAMED])
    if len(used) > NAMED:
        names += " " + _("and %(n)d more") % {"n": len(used) - NAMED}
    raise Refused(
        "used",
        _("Used already: %(names)s.") % {"names": names},
        {"receipt": _("Only a van of which nothing was opened, connected, measured or given.")},
        _("Count what is there, or send it back on the page of the supplier."),
    )


def _of(rows: QuerySet[Any]) -> set[int]:
    return set(rows.values_list("container_id", flat=True))


def _reverse_movements(
    containers: dict[int, Container], reason: str, by: Membership, at: datetime, said: Said
) -> None:
    rows = Movement.objects.standing().filter(container__in=list(containers))
    for movement in rows.select_related("item", "lot", "container", "showroom").order_by("pk"):
        ledger.reverse(movement=movement, by=by, at=at, said=said, reason=reason)


def _bring_back(receipt: GoodsReceipt, by: Membership, at: datetime, said: Said) -> None:
    """Cylinders that went away with this van are here again, with what the books held."""
    rows = Movement.objects.standing().filter(
        showroom=receipt.showroom,
        kind=MovementKind.RETURN,
        reason=WENT_BACK,
        entered_at=receipt.entered_at,
        person=receipt.person,
    )
    went = Deposit.objects.filter(receipt=receipt, amount_cents__lt=0)
    keys = set(rows.values_list("container_id", flat=True))
    keys |= set(went.exclude(container=None).values_list("container_id", flat=True))
    for container in ledger.lock_keys(keys).values():
        for movement in rows.filter(container=container).order_by("pk"):
            ledger.reverse(movement=movement, by=by, at=at, said=said, reason="van taken back")
        container.finished_on = None
        container.save(update_fields=["finished_on"])
        stock_changed(receipt.showroom, at, container.item, container)


def _take_back_lines(
    receipt: GoodsReceipt,
    back: GoodsReceipt,
    reason: str,
    by: Membership,
    at: datetime,
    said: Said,
) -> None:
    for line in ReceiptLine.objects.standing().filter(receipt=receipt).order_by("pk"):
        ReceiptLine.objects.create(
            **columns_of_taking_back(line, by, at, said),
            receipt=back,
            line=line.line,
            item=line.item,
            pack_base=line.pack_base,
            packs_came=line.packs_came,
            packs_broken=line.packs_broken,
            counts_for_packs=line.counts_for_packs,
            is_kept=line.is_kept,
            lot=line.lot,
            price_cents=line.price_cents,
            reason=reason,
        )
