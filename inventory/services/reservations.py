"""Stock that is spoken for: so much of an item, needed on a day, for a build or a class."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.quantity import Quantity
from inventory.models import Item, Reservation
from inventory.queries.reservations import free_base, reserved_of
from inventory.services.amounts import base_of, written
from inventory.services.said import local_day, same_house
from inventory.services.wanting import stock_changed
from tanks.models import Tank

NAMED = 3


@transaction.atomic
def reserve(
    *,
    item: Item,
    amount: Quantity,
    needed_on: date,
    for_what: str,
    by: Membership,
    at: datetime,
    tank: Tank | None = None,
    only_in_stock: bool = False,
) -> Reservation:
    """So much is kept for something that is planned.

    Parameters
    ----------
    only_in_stock : no more than what is here and not kept for something else already; else what is
        missing is bought for it

    Raises
    ------
    Refused
        nothing, another dimension, a day that is over, no word for what; ``kept_already`` when less
        is free.
    """
    require(by, "plan.change", in_=item.showroom)
    Item.objects.select_for_update(no_key=True).get(pk=item.pk)  # two at once take turns
    same_house(item.showroom, tank=tank)
    today = local_day(item.showroom, at)
    if needed_on < today:
        raise Refused(
            "day_over",
            f"Needed on: {needed_on:%-d %B %Y} is over.",
            {"needed_on": "Today or later."},
        )
    if not for_what.strip():
        raise Refused(
            "for_what_missing",
            "For what? Nothing was given.",
            {"for_what": "1 to 120 characters, such as: T09, planting."},
        )
    amount_base = base_of(item, amount, least=1)
    if only_in_stock:
        _refuse_kept(item, amount_base, amount)
    row: Reservation = written(
        Reservation(
            showroom=item.showroom,
            item=item,
            amount_base=amount_base,
            needed_on=needed_on,
            for_what=for_what.strip(),
            tank=tank,
            made_at=at,
            made_by=by.person,
        )
    )
    audit.record(
        by=by,
        at=at,
        deed="stock.reserved",
        subject=row,
        after={"item": item.code, "amount": amount.text(), "needed_on": needed_on},
    )
    stock_changed(item.showroom, at, item)
    want_work(item.showroom, "reorder", at=at)
    return row


def _refuse_kept(item: Item, amount_base: int, amount: Quantity) -> None:
    free, kept = free_base(item), reserved_of(item)
    if amount_base <= free:
        return
    mark = item.showroom.decimal_mark
    left = amount.of_base(max(0, free)).short(mark)
    others = ", ".join(
        f"{amount.of_base(row.amount_base).short(mark)} for {row.for_what}" for row in kept[:NAMED]
    )
    sentence = f"{item.name}: {amount.text(mark)} cannot be kept, {left} are free."
    raise Refused(
        "kept_already",
        f"{sentence} Kept already: {others}." if others else sentence,
        {"amount": f"Allowed from stock: up to {left}."},
        "Take less, free something, or say that the rest is bought.",
    )


@transaction.atomic
def release(*, reservation: Reservation, by: Membership, at: datetime) -> Reservation:
    """It was used, or is not needed any more. Released already, nothing changes."""
    require(by, "plan.change", in_=reservation.showroom)
    row: Reservation = Reservation.objects.select_for_update().get(pk=reservation.pk)
    if row.released_at is None:
        row.released_at = at
        row.save(update_fields=["released_at"])
        audit.record(by=by, at=at, deed="stock.released", subject=row)
        stock_changed(row.showroom, at, row.item)
        want_work(row.showroom, "reorder", at=at)
    return row
