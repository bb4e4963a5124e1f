"""From a can into a bottle: a transfer, not new stock."""

from __future__ import annotations

from datetime import date, datetime
from typing import Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.values.quantity import Quantity, quantity
from inventory.models import Container, Lot, Movement, MovementKind
from inventory.queries.levels import balance_base
from inventory.services import ledger
from inventory.services.amounts import base_of
from inventory.services.said import Said, local_day, moment_of, same_house
from inventory.services.wanting import measured

TO_THE_LINE = ", filled to the line, ± 5 %"
LINE_PERCENT = 5
"""How well a line tells what a full container holds, as a standard deviation (common practice, no
source)."""


@transaction.atomic
def decant(
    *,
    source: Container,
    into: Container,
    by: Membership,
    at: datetime,
    amount: Quantity | None = None,
    **said: Unpack[Said],
) -> tuple[Movement, Movement]:
    """Pour an amount from one container into another of the same item: two movements that sum to 0.

    The source counts as opened by it. What was left in the target decides its lot and opened-on:
    into an empty one they come with the content; where old and new mix, the earlier expiry and the
    older opening stay.

    Parameters
    ----------
    amount : None: the target was filled to its line, which is good to about 5 % (common practice,
        no source); the amount is then what was missing to a full one by the books, and both
        movements say how well it is known, so that the forecast knows it too

    Raises
    ------
    Refused
        the same container, another item, nothing, more than either can hold.
    Unknown
        a container of another showroom.
    """
    require(by, "record", in_=source.showroom)
    same_house(source.showroom, container=into)
    known = _known(source, into, said)
    if known is not None:
        return known
    rows = ledger.lock([source, into])
    source, into = rows[source.pk], rows[into.pk]
    _may_mix(source, into)
    moment = moment_of(at, said)
    held = balance_base(into, moment)
    line = TO_THE_LINE if amount is None else ""
    sd = into.capacity_base * LINE_PERCENT // 100 if amount is None else None
    amount = _missing(into, held) if amount is None else amount
    _fits(source, into, held, amount)
    out = ledger.post(
        item=source.item,
        kind=MovementKind.DECANT,
        amount=-amount,
        container=source,
        by=by,
        at=at,
        said=said,
        reason=f"into {into}{line}"[:200],
        sd_base=sd,
    )
    came = ledger.post(
        item=into.item,
        kind=MovementKind.DECANT,
        amount=amount,
        container=into,
        lot=source.lot,
        by=by,
        at=at,
        said=said,
        reason=f"out of {source}{line}"[:200],
        sd_base=sd,
    )
    _carry_over(source, into, held, local_day(source.showroom, moment), by, at)
    measured(source.showroom, at, source.item, source)
    measured(source.showroom, at, into.item, into)
    return out, came


def _may_mix(source: Container, into: Container) -> None:
    if source.pk == into.pk:
        raise Refused(
            "same_container",
            "Source and target are the same container.",
            {"into": "Another one."},
            "Read both codes again.",
        )
    if source.item_id != into.item_id:
        raise Refused(
            "other_item",
            f"{into} is for {into.item.name}, {source} holds {source.item.name}.",
            {"into": f"A container for {source.item.name}."},
            "Do not mix them; label each container with its code.",
        )
    if into.finished_on is not None or into.voided_at is not None:
        raise Refused(
            "finished",
            f"{into} was finished.",
            {"into": "A container in use."},
            "Read the code on the label again.",
        )


def _missing(into: Container, held: int) -> Quantity:
    base = into.capacity_base - max(held, 0)
    if base > 0:
        return quantity(into.item.dimension, base)
    raise Refused(
        "is_full",
        f"Filled to the line: by the books {into} is full already.",
        {"amount": "How much was poured, or weigh the target first."},
        "Weigh it first if it holds less than was thought.",
    )


def _fits(source: Container, into: Container, held: int, amount: Quantity) -> None:
    base = base_of(source.item, amount, least=1)
    room = into.capacity_base + into.capacity_base // 20 - max(held, 0)
    most = min(source.capacity_base, room)
    if base <= most:
        return
    allowed = quantity(
        into.item.dimension, max(min(source.capacity_base, into.capacity_base - max(held, 0)), 0)
    )
    raise Refused(
        "above_full",
        f"Amount: {amount.text()} does not fit into {into}.",
        {"amount": f"Allowed: up to {allowed.text()}, as far as its level is known."},
        "Correct the amount, or weigh the target first if it holds less than was thought.",
    )


def _carry_over(
    source: Container, into: Container, held: int, day: date, by: Membership, at: datetime
) -> None:
    if source.opened_on is None:
        source.opened_on = day
        source.save(update_fields=["opened_on"])
    before = {"lot": into.lot_id, "opened_on": into.opened_on}
    was_empty = held <= max(into.unusable_base, into.item.unusable_base)
    if was_empty or into.opened_on is None:
        into.opened_on = source.opened_on
    else:
        into.opened_on = min(into.opened_on, source.opened_on)
    into.lot = source.lot if was_empty else _earlier(into.lot, source.lot)
    after = {"lot": into.lot_id, "opened_on": into.opened_on}
    if before == after:
        return
    into.save(update_fields=["lot", "opened_on"])
    audit.record(
        by=by,
        at=at,
        deed="container.decanted_into",
        subject=into,
        before=before,
        after=after,
    )


def _earlier(one: Lot, other: Lot) -> Lot:
    if other.expires_on is None:
        return one
    if one.expires_on is None or other.expires_on < one.expires_on:
        return other
    return one


def _known(source: Container, into: Container, said: Said) -> tuple[Movement, Movement] | None:
    if said.get("action_id") is None:
        return None
    rows = {
        row.container_id: row
        for row in Movement.objects.filter(
            showroom=source.showroom,
            action_id=said["action_id"],
            kind=MovementKind.DECANT,
            corrects=None,
        )
    }
    if source.pk in rows and into.pk in rows:
        return rows[source.pk], rows[into.pk]
    return None
