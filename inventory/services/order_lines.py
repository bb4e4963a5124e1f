"""All that the form of a draft says, written down at once or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.quantity import quantity
from inventory.models import OrderLine, PurchaseOrder
from inventory.services.orders import change_order, remove_line, set_line


@dataclass(frozen=True, slots=True)
class LineSaid:
    """So many packs of a line; 0 takes it off."""

    line: OrderLine
    packs: int


@transaction.atomic
def set_lines(
    *,
    order: PurchaseOrder,
    lines: Sequence[LineSaid],
    by: Membership,
    at: datetime,
    wanted_on: date | None = None,
    note: str = "",
    carriage_cents: int | None = None,
) -> PurchaseOrder:
    """Van, sentence, carriage and the number of each line together.

    Raises Refused as the services of each do; then nothing at all is written.
    """
    changed = change_order(
        order=order, wanted_on=wanted_on, note=note, carriage_cents=carriage_cents, by=by, at=at
    )
    for said in lines:
        line = said.line
        if said.packs == 0:
            remove_line(line=line, by=by, at=at)
        elif said.packs != line.packs:
            pack = quantity(line.item.dimension, line.pack_base)
            set_line(order=order, item=line.item, pack=pack, packs=said.packs, by=by, at=at)
    return changed
