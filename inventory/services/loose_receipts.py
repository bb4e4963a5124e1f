"""A van came with something that nobody ordered here: by telephone, as a gift, over the counter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Unpack

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import Quantity
from gallery_ops.kernel.values.text import clean_text
from inventory.models import GoodsReceipt, Item, ItemKind, ReceiptLine, Supplier
from inventory.services.amounts import base_of, written
from inventory.services.receipt_stock import Booking, Printed, book_packs, offer_of
from inventory.services.said import Said, fact_columns, same_house

MOST_PACKS = 10_000
LONGEST = 60


@dataclass(frozen=True, slots=True)
class LooseCame:
    """So many whole packs of an item, with what is printed on them. ``field`` names its row."""

    item: Item
    pack: Quantity
    packs: int
    maker_lot: str = ""
    expires_on: date | None = None
    field: str = "packs"


@transaction.atomic
def receive_unordered(
    *,
    supplier: Supplier,
    came: Sequence[LooseCame],
    by: Membership,
    at: datetime,
    delivery_note: str = "",
    **said: Unpack[Said],
) -> GoodsReceipt:
    """Write down what a van brought that stands on no order; lead times learn nothing from it.

    The same ``action_id`` again gives the same receipt and books nothing.

    Raises
    ------
    Refused
        nothing at all, a number out of range, a cylinder: that is read off on its own page.
    """
    showroom = supplier.showroom
    require(by, "record", in_=showroom)
    supplier = Supplier.objects.select_for_update().get(pk=supplier.pk)
    known = _known(supplier, said)
    if known is not None:
        return known
    if supplier.voided_at is not None:
        raise Refused(
            "supplier_gone",
            _("%(name)s is not a supplier any more.") % {"name": supplier.name},
            {"supplier": _("Choose another one.")},
        )
    if not came:
        raise Refused(
            "nothing_came",
            _("Nothing was written down yet."),
            {"packs": _("At least one row with what came and how many.")},
        )
    for one in came:
        _check(supplier, one)
    receipt: GoodsReceipt = written(
        GoodsReceipt(
            **fact_columns(showroom, by, at, said),
            supplier=supplier,
            delivery_note=_clean(delivery_note, _("Delivery note"), "delivery_note"),
        )
    )
    booking = Booking(receipt, by, at, said)
    for number, one in enumerate(came, start=1):
        _book(booking, one, str(number))
    audit.record(
        by=by,
        at=at,
        deed="receipt.unordered",
        subject=receipt,
        after={
            "supplier": supplier.name,
            "lines": [{"item": one.item.code, "packs": one.packs} for one in came],
        },
    )
    return receipt


def _book(booking: Booking, one: LooseCame, name: str) -> None:
    offer = offer_of(booking, one.item, one.pack.base)
    price = offer.price_cents if offer is not None else None
    printed = Printed(_clean(one.maker_lot, _("Lot"), one.field), one.expires_on, price)
    lot = book_packs(booking, one.item, one.pack, one.packs, printed, name=name, field=one.field)
    written(
        ReceiptLine(
            **booking.facts(),
            receipt=booking.receipt,
            item=one.item,
            pack_base=one.pack.base,
            packs_came=one.packs,
            lot=lot,
            price_cents=price,
            reason="not ordered",
        )
    )


def _check(supplier: Supplier, one: LooseCame) -> None:
    same_house(supplier.showroom, item=one.item)
    base_of(one.item, one.pack, field=one.field, least=1)
    name = one.item.name
    if one.item.kind == ItemKind.GAS:
        raise Refused(
            "a_cylinder",
            _("%(name)s: a cylinder is not booked here.") % {"name": name},
            {one.field: _("Anything but gas.")},
            _("Add it on the page of the cylinders, with serial, tare and stamp."),
        )
    if not 1 <= one.packs <= MOST_PACKS:
        raise Refused(
            "out_of_range",
            _("%(name)s: %(n)s is not allowed.") % {"name": name, "n": one.packs},
            {one.field: _("Allowed: 1 to 10,000 packs.")},
            _("Leave the row empty if none came."),
        )


def _clean(text: str, label: str, field: str) -> str:
    try:
        return clean_text(text, field=str(label), longest=LONGEST)
    except OutOfRange as no:
        raise Refused.from_range(no, field=field) from None


def _known(supplier: Supplier, said: Said) -> GoodsReceipt | None:
    if said.get("action_id") is None:
        return None
    found: GoodsReceipt | None = (
        GoodsReceipt.objects.of(supplier.showroom)
        .filter(action_id=said["action_id"], corrects=None)
        .first()
    )
    return found
