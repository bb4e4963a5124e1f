"""A van that nobody ordered: what may have come, and what of them was ordered after all."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from gallery_ops.kernel.models import Showroom
from inventory.models import GoodsReceipt, ItemKind, PurchaseOrder, Supplier, SupplierItem
from inventory.queries.orders import COMING, orders
from inventory.queries.suppliers import offers, supplier_of

SHOWN = 5


@dataclass(frozen=True, slots=True)
class UnorderedPage:
    """Their packs without gas, and their orders of which something is to come."""

    supplier: Supplier
    offers: list[SupplierItem]
    open_orders: list[PurchaseOrder]


def unordered_page(showroom: Showroom, uid: UUID) -> UnorderedPage:
    """Raises Unknown."""
    supplier = supplier_of(showroom, uid)
    return UnorderedPage(
        supplier=supplier,
        offers=[one for one in offers(showroom, [supplier.pk]) if one.item.kind != ItemKind.GAS],
        open_orders=list(orders(showroom, states=list(COMING)).filter(supplier=supplier)[:SHOWN]),
    )


def loose_receipts(supplier: Supplier) -> list[GoodsReceipt]:
    """The last vans without an order that stand, with what they brought; two queries."""
    rows = (
        GoodsReceipt.objects.standing()
        .filter(supplier=supplier, order=None)
        .select_related("person")
        .prefetch_related("lines__item", "lines__lot")
        .order_by("-done_at_corrected", "-pk")
    )
    return list(rows[:SHOWN])
