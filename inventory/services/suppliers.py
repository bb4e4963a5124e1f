"""Who delivers: what is known of them, their packs, their deposits, what goes back to them."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.checking import check_row
from gallery_ops.kernel.services.work import want_work
from inventory.models import (
    Container,
    Deposit,
    MovementKind,
    OrderState,
    PurchaseOrder,
    Supplier,
    SupplierClosure,
    SupplierItem,
)
from inventory.queries.keys import item_key
from inventory.services import ledger
from inventory.services.amounts import written
from inventory.services.containers import finish
from inventory.services.prices import MOST_CENTS
from inventory.services.said import Said, fact_columns, same_house

CHANGEABLE = frozenset(
    {
        "name",
        "delivery_weekdays",
        "cut_off_at",
        "stated_lead_days",
        "min_order_cents",
        "is_exchange",
        "contact_private",
        "email",
        "our_number",
        "carriage_cents",
        "carriage_free_from_cents",
        "claim_hours",
        "living_weekdays",
    }
)
PACK_CHANGEABLE = frozenset({"lead_days", "is_preferred", "how", "deposit_cents", "their_code"})
LONGEST_LEAD_DAYS = 90
LONGEST_CLAIM_HOURS = 24 * 60


def check_supplier(fields: dict[str, Any]) -> None:
    """Raise Refused for days that no van takes and hours that no claim has."""
    lead = fields.get("stated_lead_days")
    if lead is not None and not 1 <= lead <= LONGEST_LEAD_DAYS:
        raise Refused(
            "out_of_range",
            f"Days from order to van: {lead} is not allowed.",
            {"stated_lead_days": f"Allowed: 1 to {LONGEST_LEAD_DAYS}."},
        )
    hours = fields.get("claim_hours")
    if hours is not None and not 1 <= hours <= LONGEST_CLAIM_HOURS:
        raise Refused(
            "out_of_range",
            f"Hours for a claim: {hours} is not allowed.",
            {"claim_hours": f"Allowed: 1 to {LONGEST_CLAIM_HOURS}."},
        )


@transaction.atomic
def change_supplier(
    *, supplier: Supplier, by: Membership, at: datetime, **changes: Any
) -> Supplier:
    """What is known of a supplier: any of CHANGEABLE. Order-by dates are thought of again."""
    require(by, "plan.change", in_=supplier.showroom)
    strange = set(changes) - CHANGEABLE
    if strange:
        raise Refused("unknown_field", f"A supplier has no {', '.join(sorted(strange))}.")
    check_supplier(changes)
    supplier = _locked(supplier)
    before = {key: getattr(supplier, key) for key in changes}
    for key, value in changes.items():
        setattr(supplier, key, value)
    check_row(supplier)
    old, new = audit.changed(before, changes)
    if not new:
        return supplier
    supplier.save(update_fields=list(changes))
    audit.record(by=by, at=at, deed="supplier.changed", subject=supplier, before=old, after=new)
    _think_again(supplier, at)
    return supplier


@transaction.atomic
def retire_supplier(*, supplier: Supplier, by: Membership, at: datetime) -> Supplier:
    """They deliver no more. Refused while something is drafted or to come from them."""
    require(by, "plan.change", in_=supplier.showroom)
    supplier = _locked(supplier)
    if supplier.voided_at is not None:
        return supplier
    open_order = (
        PurchaseOrder.objects.filter(supplier=supplier, voided_at=None)
        .exclude(state=OrderState.CLOSED)
        .first()
    )
    if open_order is not None:
        raise Refused(
            "order_open",
            f"Order {open_order} to {supplier.name} is open.",
            {"supplier": "One without an open order."},
            "Receive it, drop it, or say what is not wanted any more.",
        )
    supplier.voided_at = at
    supplier.save(update_fields=["voided_at"])
    audit.record(by=by, at=at, deed="supplier.retired", subject=supplier)
    _think_again(supplier, at)
    return supplier


@transaction.atomic
def change_pack(
    *, offer: SupplierItem, by: Membership, at: datetime, **changes: Any
) -> SupplierItem:
    """What is known of a pack: any of PACK_CHANGEABLE. Its price: ``prices.set_price``."""
    require(by, "plan.change", in_=offer.showroom)
    strange = set(changes) - PACK_CHANGEABLE
    if strange:
        raise Refused("unknown_field", f"A pack has no {', '.join(sorted(strange))}.")
    offer = SupplierItem.objects.select_for_update().get(pk=offer.pk)
    before = {key: getattr(offer, key) for key in changes}
    for key, value in changes.items():
        setattr(offer, key, value)
    check_row(offer)
    offer.save(update_fields=list(changes))
    old, new = audit.changed(before, changes)
    audit.record(by=by, at=at, deed="supplier.pack_changed", subject=offer, before=old, after=new)
    want_work(offer.showroom, "forecast", item_key(offer.item_id), at=at)
    return offer


@transaction.atomic
def retire_pack(*, offer: SupplierItem, by: Membership, at: datetime) -> SupplierItem:
    """They sell this pack no more. Retired already, nothing changes."""
    require(by, "plan.change", in_=offer.showroom)
    offer = SupplierItem.objects.select_for_update().get(pk=offer.pk)
    if offer.retired_at is None:
        offer.retired_at = at
        offer.save(update_fields=["retired_at"])
        audit.record(by=by, at=at, deed="supplier.pack_retired", subject=offer)
        want_work(offer.showroom, "forecast", item_key(offer.item_id), at=at)
    return offer


@transaction.atomic
def drop_closure(*, closure: SupplierClosure, by: Membership, at: datetime) -> None:
    """Closed days that were entered by mistake."""
    require(by, "plan.change", in_=closure.showroom)
    supplier = closure.supplier
    before = {"from_on": closure.from_on, "to_on": closure.to_on}
    closure.delete()
    audit.record(by=by, at=at, deed="supplier.closure_dropped", subject=supplier, before=before)
    _think_again(supplier, at)


@transaction.atomic
def note_deposit(
    *,
    supplier: Supplier,
    amount_cents: int,
    reason: str,
    by: Membership,
    at: datetime,
    container: Container | None = None,
    **said: Unpack[Said],
) -> Deposit:
    """Money left with a supplier (positive) or given back (negative).

    The same ``action_id`` again gives the same deposit.
    """
    require(by, "plan.change", in_=supplier.showroom)
    supplier = _locked(supplier)
    known = _noted(supplier, said)
    if known is not None:
        return known
    same_house(supplier.showroom, container=container)
    if not 0 < abs(amount_cents) <= MOST_CENTS:
        raise Refused(
            "out_of_range",
            "Deposit: nothing was given.",
            {"amount": "An amount that is not 0; with a minus when it was given back."},
        )
    row: Deposit = written(
        Deposit(
            **fact_columns(supplier.showroom, by, at, said),
            supplier=supplier,
            container=container,
            amount_cents=amount_cents,
            reason=reason.strip(),
        )
    )
    audit.record(
        by=by,
        at=at,
        deed="supplier.deposit",
        subject=supplier,
        after={"amount_cents": amount_cents, "container": container and container.code},
        reason=row.reason,
    )
    return row


@transaction.atomic
def send_back(
    *,
    container: Container,
    supplier: Supplier,
    reason: str,
    by: Membership,
    at: datetime,
    deposit_back_cents: int = 0,
    **said: Unpack[Said],
) -> Container:
    """A container goes back to whoever brought it, with what the books still hold of it.

    Raises
    ------
    Refused
        no reason, a container that is finished.
    """
    require(by, "record", in_=container.showroom)
    same_house(container.showroom, supplier=supplier)
    if not reason.strip():
        raise Refused(
            "reason_missing",
            "Why does it go back? Nothing was given.",
            {"reason": "1 to 200 characters, such as: leaks at the cap."},
        )
    container = ledger.lock([container])[container.pk]
    if container.finished_on is not None:
        raise Refused(
            "finished", f"{container} left the house already.", {"container": "One that is here."}
        )
    container = finish(
        container=container,
        kind=MovementKind.RETURN,
        reason=reason.strip()[:200],
        by=by,
        at=at,
        **said,
    )
    if deposit_back_cents:
        note_deposit(
            supplier=supplier,
            amount_cents=-abs(deposit_back_cents),
            reason="deposit back",
            container=container,
            by=by,
            at=at,
            **said,
        )
    return container


def _noted(supplier: Supplier, said: Said) -> Deposit | None:
    if said.get("action_id") is None:
        return None
    found: Deposit | None = Deposit.objects.filter(
        supplier=supplier, action_id=said["action_id"], receipt=None
    ).first()
    return found


def _locked(supplier: Supplier) -> Supplier:
    found: Supplier = Supplier.objects.select_for_update().get(pk=supplier.pk)
    return found


def _think_again(supplier: Supplier, at: datetime) -> None:
    """Order-by dates of what they sell, in one piece of work, however much that is."""
    want_work(supplier.showroom, "supplier", f"supplier:{supplier.pk}", at=at)
    want_work(supplier.showroom, "reorder", at=at)
