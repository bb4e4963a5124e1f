"""Suppliers and orders for a test, made by the services of the house."""

from __future__ import annotations

from datetime import datetime
from itertools import count
from typing import Any

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.quantity import Quantity
from inventory.models import Item, OrderLine, PurchaseOrder, Supplier, SupplierItem
from inventory.services.items import add_supplier, add_supplier_item
from inventory.services.orders import draft_order, send_order, set_line
from tests.builders.gallery import AT, an_owner

_numbers = count(1)


def a_supplier(
    showroom: Showroom, name: str = "", *, at: datetime = AT, **changes: Any
) -> Supplier:
    """Somebody who delivers on working days."""
    return add_supplier(
        showroom=showroom,
        name=name or f"supplier {next(_numbers)}",
        by=an_owner(showroom),
        at=at,
        **changes,
    )


def a_pack(
    supplier: Supplier, item: Item, pack: Quantity, *, at: datetime = AT, **changes: Any
) -> SupplierItem:
    """A pack that they sell, at 12.50."""
    return add_supplier_item(
        supplier=supplier,
        item=item,
        pack=pack,
        by=an_owner(supplier.showroom),
        at=at,
        **{"price_cents": 1250, **changes},
    )


def a_line(
    order: PurchaseOrder, item: Item, pack: Quantity, packs: int = 1, *, at: datetime = AT
) -> OrderLine:
    """So many packs on a draft."""
    by = an_owner(order.showroom)
    return set_line(order=order, item=item, pack=pack, packs=packs, by=by, at=at)


def a_draft(supplier: Supplier, *, at: datetime = AT) -> PurchaseOrder:
    """The draft to this supplier."""
    return draft_order(supplier=supplier, by=an_owner(supplier.showroom), at=at)


def an_order(
    supplier: Supplier, *lines: tuple[Item, Quantity, int], at: datetime = AT
) -> PurchaseOrder:
    """An order of these lines that was sent at that moment."""
    order = a_draft(supplier, at=at)
    for item, pack, packs in lines:
        a_line(order, item, pack, packs, at=at)
    return send_order(order=order, by=an_owner(supplier.showroom), at=at)
