"""Counted, spilled, gone off: what changes a level without a use, and how a slip is taken back."""

from __future__ import annotations

from datetime import datetime
from typing import Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.values.quantity import Quantity, quantity
from inventory.models import Container, Movement, MovementKind
from inventory.queries.levels import balance_base
from inventory.services import ledger
from inventory.services.amounts import base_of
from inventory.services.said import Said, moment_of
from inventory.services.wanting import measured, stock_changed


@transaction.atomic
def count(
    *,
    container: Container,
    counted: Quantity,
    by: Membership,
    at: datetime,
    reason: str = "",
    **said: Unpack[Said],
) -> Movement:
    """Somebody counted or read the mark: posts the difference to what the ledger held then.

    A count that agrees is a movement of 0: it says that somebody looked.
    """
    require(by, "weigh", in_=container.showroom)
    known = _moved_by(container, MovementKind.COUNT, said)
    if known is not None:
        return known
    container = ledger.lock([container])[container.pk]
    base = base_of(container.item, counted, field="counted")
    if base > container.capacity_base + container.capacity_base // 10:
        full = quantity(container.item.dimension, container.capacity_base)
        raise Refused(
            "above_full",
            f"Counted: {counted.text()} is more than {container} holds.",
            {"counted": f"Allowed: 0 to {full.text()}."},
            "Check the number and its unit.",
        )
    held = balance_base(container, moment_of(at, said))
    movement = ledger.post(
        item=container.item,
        kind=MovementKind.COUNT,
        amount=quantity(container.item.dimension, base - held),
        container=container,
        by=by,
        at=at,
        said=said,
        reason=reason,
    )
    measured(container.showroom, at, container.item, container)
    return movement


@transaction.atomic
def waste(
    *,
    container: Container,
    amount: Quantity,
    reason: str,
    by: Membership,
    at: datetime,
    kind: MovementKind | str = MovementKind.WASTE,
    **said: Unpack[Said],
) -> Movement:
    """Spilled, thrown away, or ``kind=expiry``: went off. The reason is asked for."""
    require(by, "record", in_=container.showroom)
    kind = MovementKind(kind)
    known = _moved_by(container, kind, said)
    if known is not None:
        return known
    if not reason.strip():
        raise Refused(
            "reason_missing",
            "Reason: nothing was given.",
            {"reason": "Say what happened."},
            "A few words are enough.",
        )
    container = ledger.lock([container])[container.pk]
    base_of(container.item, amount, least=1)
    movement = ledger.post(
        item=container.item,
        kind=kind,
        amount=-amount,
        container=container,
        by=by,
        at=at,
        said=said,
        reason=reason.strip(),
    )
    stock_changed(container.showroom, at, container.item, container)
    return movement


@transaction.atomic
def take_back_movement(
    *, movement: Movement, by: Membership, at: datetime, reason: str = "", **said: Unpack[Said]
) -> Movement:
    """A count, waste, receipt or decant was a slip: its opposite is posted. Both stay.

    A movement of a use or a weighing is taken back with its use or its weighing.
    """
    require(by, "correct", in_=movement.showroom)
    if movement.use_id is not None or movement.weighing_id is not None:
        raise Refused(
            "belongs_to_a_fact",
            "This movement came from a use or a weighing.",
            remedy="Take that back instead.",
        )
    if movement.takes_back:
        raise Refused("undo_of_undo", "This entry only takes back another: enter it anew instead.")
    if movement.container is not None:
        ledger.lock([movement.container])
    opposite = ledger.reverse(movement=movement, by=by, at=at, said=said, reason=reason)
    for matched in ledger.matched_at(movement):
        ledger.reverse(movement=matched, by=by, at=at, said=said, reason=reason)
    stock_changed(movement.showroom, at, movement.item, movement.container)
    return opposite


def _moved_by(container: Container, kind: MovementKind, said: Said) -> Movement | None:
    if said.get("action_id") is None:
        return None
    known: Movement | None = Movement.objects.filter(
        showroom=container.showroom,
        action_id=said["action_id"],
        container=container,
        kind=kind,
        corrects=None,
        weighing=None,
    ).first()
    return known
