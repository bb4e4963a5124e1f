"""One more thing on the draft to whoever sells it, from the page that says it runs out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.quantity import quantity
from inventory.models import Item, ItemKind, OrderLine, PurchaseOrder, SupplierItem
from inventory.queries.buy_list import buy_list
from inventory.queries.items import item_by_code
from inventory.queries.orders import lines_of
from inventory.queries.suppliers import offers
from inventory.services.orders import draft_order, set_line


@dataclass(frozen=True, slots=True)
class Added:
    """The line on its draft; ``was_there`` : somebody put it on before, and nothing changed."""

    order: PurchaseOrder
    line: OrderLine
    was_there: bool


@transaction.atomic
def add_to_order(*, code: str, by: Membership, at: datetime) -> Added:
    """As many packs as the buy list advises, else one of the preferred pack, on the one draft.

    Raises
    ------
    Unknown
        no such item
    Refused
        ``nobody_sells`` it, ``a_cylinder`` is exchanged and not added here; as the services do
    """
    showroom = by.showroom
    item = item_by_code(showroom, code)
    if item is None:
        raise Unknown("item")
    if item.kind == ItemKind.GAS:
        raise Refused(
            "a_cylinder",
            _("%(name)s: a cylinder is exchanged.") % {"name": item.name},
            {"item": _("Anything but gas.")},
            _("The buy list names those that must be exchanged."),
        )
    offer, packs = _advised(item, by, at)
    order = draft_order(supplier=offer.supplier, by=by, at=at)
    for line in lines_of([order]).get(order.pk, []):
        if line.item_id == item.pk:
            return Added(order, line, was_there=True)
    line = set_line(
        order=order,
        item=item,
        pack=quantity(item.dimension, offer.pack_base),
        packs=packs,
        by=by,
        at=at,
    )
    return Added(order, line, was_there=False)


def _advised(item: Item, by: Membership, at: datetime) -> tuple[SupplierItem, int]:
    for section in buy_list(by.showroom, at).sections:
        for row in section.lines:
            if row.item.pk == item.pk and row.packs:
                return row.offer, row.packs
    found = [one for one in offers(by.showroom) if one.item_id == item.pk]
    if not found:
        raise Refused(
            "nobody_sells",
            _("%(name)s: nobody is known who sells it.") % {"name": item.name},
            {"item": _("One with a pack at a supplier.")},
            _("Add the pack on the page of the supplier."),
        )
    return next((one for one in found if one.is_preferred), found[0]), 1
