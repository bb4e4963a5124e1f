"""Who delivers to Undershore, on which terms and at which prices."""

from __future__ import annotations

from datetime import time, timedelta

from gallery_ops.demo.house import House
from gallery_ops.demo.shelves import BEFORE, CAN, PLANTS, SHELVES, TUB, Shelf
from gallery_ops.demo.stock import Stock
from gallery_ops.kernel.values.quantity import Pieces
from inventory.models import Item, Supplier, SupplierItem
from inventory.services import items, prices, reservations, suppliers

DEPOSIT_CENTS = 4_000
BUILD_CODE, BUILD_CUPS, BUILD_IN_DAYS = "T09", 16, 13
"""The empty glass is planted with so many cups in so many days."""


def open_trade(house: House, stock: Stock, known: dict[str, Item]) -> Supplier:
    """Terms, packs, prices and money for the month; what is kept is added to ``known`` by code.

    Returns the nursery, which comes new.
    """
    boss, at = house.people["maud"], house.at(BEFORE)
    _terms(house, stock)
    nursery = items.add_supplier(
        showroom=house.showroom,
        name="Loam & Lantern nursery",
        delivery_weekdays="0111000",
        living_weekdays="0111000",
        cut_off_at=time(9),
        stated_lead_days=4,
        min_order_cents=4_000,
        carriage_cents=1_250,
        claim_hours=24,
        email="orders@loamandlantern.example",
        contact_private="Wren Aldous, 01632 960 172",
        by=boss,
        at=at,
    )
    for shelf in SHELVES:
        known[shelf.code] = _shelve(house, shelf, stock.trade)
    known[PLANTS.code] = _shelve(house, PLANTS, nursery)
    _dearer(house, stock, known)
    prices.set_budget(
        showroom=house.showroom,
        month_on=house.on,
        amount_cents=40_000,
        by=boss,
        at=house.at(20, time(16)),
    )
    reservations.reserve(
        item=known[PLANTS.code],
        amount=Pieces(BUILD_CUPS),
        needed_on=house.on + timedelta(days=BUILD_IN_DAYS),
        for_what=f"{BUILD_CODE}, planting",
        tank=house.tanks[BUILD_CODE],
        by=house.people["iskra"],
        at=house.at(3, time(15)),
    )
    return nursery


def _terms(house: House, stock: Stock) -> None:
    boss, at = house.people["maud"], house.at(BEFORE)
    suppliers.change_supplier(
        supplier=stock.trade,
        min_order_cents=2_000,
        carriage_cents=950,
        carriage_free_from_cents=15_000,
        claim_hours=24,
        our_number="U-2214",
        email="orders@brackwatertrade.example",
        contact_private="Jory at the counter, 01632 960 151",
        by=boss,
        at=at,
    )
    suppliers.change_supplier(
        supplier=stock.gas_trade,
        carriage_cents=600,
        email="swaps@quayheadgas.example",
        contact_private="the yard, 01632 960 188",
        by=boss,
        at=at,
    )
    for offer in SupplierItem.objects.filter(supplier=stock.gas_trade).order_by("pack_base"):
        suppliers.change_pack(
            offer=offer, how="exchange", deposit_cents=DEPOSIT_CENTS, by=boss, at=at
        )


def _shelve(house: House, shelf: Shelf, supplier: Supplier) -> Item:
    boss, at = house.people["maud"], house.at(BEFORE)
    item = items.add_item(
        showroom=house.showroom,
        code=shelf.code,
        name=shelf.name,
        kind=shelf.kind,
        dimension=shelf.dimension,
        harm_class=shelf.harm_class,
        storage=shelf.storage,
        is_living=shelf is PLANTS,
        by=boss,
        at=at,
    )
    items.add_supplier_item(
        supplier=supplier, item=item, pack=shelf.pack, price_cents=shelf.cents, by=boss, at=at
    )
    return item


def _dearer(house: House, stock: Stock, known: dict[str, Item]) -> None:
    """Two prices went up since; the others are as they were."""
    for code, pack, days_ago, cents in (
        ("fertiliser", CAN, 52, 6_690),
        ("fine-granules", TUB, 30, 940),
    ):
        offer = SupplierItem.objects.get(
            supplier=stock.trade, item=known[code], pack_base=pack.base
        )
        at = house.at(days_ago, time(16))
        prices.set_price(offer=offer, price_cents=cents, by=house.people["maud"], at=at)
