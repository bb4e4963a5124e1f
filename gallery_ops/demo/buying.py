"""What Undershore orders and what its vans bring, by the services that the pages call.

Vans come on the supplier's days; how long an order takes is drawn for each, around what the
supplier says. One order is open on the day of the demo: part of it is here, the rest to come.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import time, timedelta

from gallery_ops.demo.house import House
from gallery_ops.demo.luck import Luck
from gallery_ops.demo.mishaps import Mishaps
from gallery_ops.demo.shelves import (
    A_WEEK,
    BEFORE,
    BIG_TUB,
    OPEN_SENT,
    OPEN_WANTED,
    PLANT_VANS,
    PLANTS,
    VANS,
    Wanted,
)
from gallery_ops.demo.stock import HISTORY_DAYS, Stock
from gallery_ops.demo.terms import open_trade
from gallery_ops.kernel.values.quantity import Pieces
from inventory.models import Container, Item, OrderLine, PurchaseOrder, Supplier
from inventory.queries.levels import balance_base
from inventory.queries.orders import lines_of
from inventory.services.containers import change_container, finish
from inventory.services.counting import count
from inventory.services.orders import draft_order, send_order, set_line
from inventory.services.receipts import Came, Instead, receive_goods
from inventory.services.supplies import connect_supply


@dataclass(slots=True)
class Ordered:
    """An order that is on its way."""

    supplier: Supplier
    wanted: tuple[Wanted, ...]
    sent: int
    comes: int
    """Both so many days ago."""
    order: PurchaseOrder | None = None
    is_planted: bool = False


@dataclass(slots=True)
class Buying:
    """The orders of ninety days: those to come, and what they brought."""

    house: House
    stock: Stock
    luck: Luck
    mishaps: Mishaps
    items: dict[str, Item] = field(default_factory=dict)
    plan: list[Ordered] = field(default_factory=list)
    tubs: list[Container] = field(default_factory=list)
    open_order: PurchaseOrder | None = None

    def open(self) -> None:
        """Plan the vans of ninety days, and send what was sent before the first of them."""
        self.items = {i.code: i for i in (self.stock.fertiliser, self.stock.gas, self.stock.food)}
        nursery = open_trade(self.house, self.stock, self.items)
        for number, (needed, wanted) in enumerate(VANS):
            self._expect(self.stock.trade, needed, wanted, number)
        for number, (needed, cups) in enumerate(PLANT_VANS):
            planted = ((PLANTS.code, PLANTS.pack, cups),)
            self._expect(nursery, needed, planted, number, is_planted=True)
        for days_ago in range(BEFORE - 5, HISTORY_DAYS, -1):
            self.day(days_ago)

    def _expect(
        self,
        supplier: Supplier,
        needed: int,
        wanted: tuple[Wanted, ...],
        number: int,
        *,
        is_planted: bool = False,
    ) -> None:
        comes = self.van_before(supplier, needed)
        stated = supplier.stated_lead_days
        drawn = self.luck.of("lead", supplier.name, number).lognormvariate(0.0, 0.22)
        sent = comes + max(2, round(stated * drawn))
        self.plan.append(Ordered(supplier, wanted, sent, comes, is_planted=is_planted))

    def van_before(self, supplier: Supplier, needed: int) -> int:
        """The last of their delivery days before the day that is so many days ago."""
        days_ago = needed + 1
        while not self.comes_on(supplier, days_ago):
            days_ago += 1
        return days_ago

    def comes_on(self, supplier: Supplier, days_ago: int) -> bool:
        """Is this one of their delivery days?"""
        return supplier.delivery_weekdays[self._weekday(days_ago)] == "1"

    def _weekday(self, days_ago: int) -> int:
        return (self.house.on - timedelta(days=days_ago)).weekday()

    # --- each day -------------------------------------------------------------------------------
    def day(self, days_ago: int) -> None:
        """Send what is due to be sent, write down what a van brings, count what is used."""
        for one in self.plan:
            if one.sent == days_ago:
                one.order = self.send(one.supplier, one.wanted, days_ago)
            if one.comes == days_ago:
                self._came(one, days_ago)
        if self._weekday(days_ago) == 0:
            self._count_pieces(days_ago)
        self._open_order(days_ago)

    def send(self, supplier: Supplier, wanted: Iterable[Wanted], days_ago: int) -> PurchaseOrder:
        """Draft an order in the morning and say that it is sent."""
        who, at = self.house.people["iskra"], self.house.at(days_ago, time(8, 40))
        order = draft_order(supplier=supplier, by=who, at=at)
        for code, pack, packs in wanted:
            set_line(order=order, item=self.items[code], pack=pack, packs=packs, by=who, at=at)
        return send_order(order=order, by=who, at=at + timedelta(minutes=10))

    def _came(self, one: Ordered, days_ago: int) -> None:
        if one.order is None:
            return
        lines = lines_of([one.order])[one.order.pk]
        fresh = self.receive(one.order, [self._as_ordered(x, days_ago) for x in lines], days_ago)
        for container in fresh:
            if one.is_planted:
                self._gone(container, "planted", days_ago - 1)
            else:
                self._name(container, days_ago)

    def receive(self, order: PurchaseOrder, came: list[Came], days_ago: int) -> list[Container]:
        """Write down a van; the containers that it brought."""
        receipt = receive_goods(
            order=order,
            came=came,
            by=self.house.people["odile"],
            at=self.house.at(days_ago, time(11, 24)),
        )
        found = Container.objects.filter(lot__receipt_lines__receipt=receipt)
        return list(found.select_related("item").order_by("pk").distinct())

    def _as_ordered(self, line: OrderLine, days_ago: int) -> Came:
        code = line.item.code
        if code == "fine-granules" and line.packs == 2 and self.mishaps.large_tub:
            big = Instead(line.item, BIG_TUB, packs=1, settles_packs=2, keep=True)
            return Came(line, instead=big, maker_lot="0126")
        lot = f"{code[:2].upper()}-{2300 + days_ago}" if line.item.dimension != "piece" else ""
        expires = self.house.on + timedelta(days=700 - days_ago) if code == "fertiliser" else None
        return Came(line, whole=line.packs, maker_lot=lot, expires_on=expires)

    def _gone(self, container: Container, reason: str, days_ago: int) -> None:
        finish(
            container=container,
            reason=reason,
            by=self.house.people["odile"],
            at=self.house.at(days_ago, time(15)),
        )

    def _count_pieces(self, days_ago: int) -> None:
        """On Mondays somebody counts what is used by the piece, the oldest box first."""
        for code, used in A_WEEK.items():
            rows = Container.objects.filter(item=self.items[code], finished_on=None)
            for box in rows.select_related("item", "showroom").order_by("pk"):
                held = balance_base(box)
                taken = min(used, held)
                used -= taken
                if taken == held:
                    self._gone(box, "empty", days_ago)
                elif taken:
                    count(
                        container=box,
                        counted=Pieces(held - taken),
                        by=self.house.people["odile"],
                        at=self.house.at(days_ago, time(16, 30)),
                    )

    def _name(self, one: Container, days_ago: int) -> None:
        boss, at = self.house.people["iskra"], self.house.at(days_ago, time(11, 30))
        if one.kind == "can":
            name = f"Can of {self.house.on - timedelta(days=days_ago):%d %b}"
            one = change_container(container=one, name=name, by=boss, at=at)
            self.stock.cans.append(one)
            self.stock.truth[one.pk] = float(one.capacity_base)
        elif one.kind == "tub":
            name = f"Tub of {one.capacity_base // 1000} g"
            one = change_container(container=one, name=name, tare_mg=28_000, by=boss, at=at)
            self.stock.truth[one.pk] = float(one.capacity_base)
            self.tubs.append(one)

    def open_tub(self, days_ago: int) -> Container:
        """The oldest sealed tub feeds both zones from that morning on."""
        tub = self.tubs.pop(0)
        at, boss = self.house.at(days_ago, time(6)), self.house.people["iskra"]
        for zone in self.house.zones.values():
            connect_supply(container=tub, purpose="food", zone=zone, by=boss, at=at)
        return tub

    # --- the order that is open -----------------------------------------------------------------
    def _open_order(self, days_ago: int) -> None:
        """Sent nine days ago; the last van before today brought half of its first line."""
        trade = self.stock.trade
        if days_ago == OPEN_SENT:
            self.open_order = self.send(trade, OPEN_WANTED, days_ago)
        if self.open_order is not None and days_ago == self.van_before(trade, 0):
            floss, *_rest = lines_of([self.open_order])[self.open_order.pk]
            came = Came(floss, whole=floss.packs // 2, stays=True)
            self.receive(self.open_order, [came], days_ago)
