"""Full cylinders are ordered ahead, wait in the store, and take the place of empty ones."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import time

from gallery_ops.demo.buying import Buying, Ordered
from gallery_ops.demo.stock import new_cylinder
from gallery_ops.demo.terms import DEPOSIT_CENTS
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Container
from inventory.queries.orders import lines_of
from inventory.services import suppliers
from inventory.services.cylinders import exchange
from inventory.services.receipts import Came, CameCylinder

LAST_SENT = 12
"""After that day no gas is ordered any more: what is due then is for the visitor to see."""
WEEK = 7


@dataclass(slots=True)
class GasVans:
    """Orders of gas by the tank that they are for, and full ones that wait for one."""

    buying: Buying
    sent: dict[str, Ordered] = field(default_factory=dict)
    full: dict[str, Container] = field(default_factory=dict)

    def day(self, days_ago: int) -> None:
        """Write down what the van brings; it waits full in the store until it is needed."""
        for code, one in list(self.sent.items()):
            if one.comes != days_ago or one.order is None:
                continue
            (line,) = lines_of([one.order])[one.order.pk]
            house, stock = self.buying.house, self.buying.stock
            new = new_cylinder(house, stock, one.wanted[0][1].base // 1000, regulator=False)
            came = [Came(line, whole=1, cylinders=(CameCylinder(new),))]
            (self.full[code],) = self.buying.receive(one.order, came, days_ago)
            del self.sent[code]

    def order_ahead(self, code: str, grams: int, days_left: float, days_ago: int) -> None:
        """Order one that comes with the last van before the old one is empty."""
        if code in self.sent or code in self.full or days_ago <= LAST_SENT:
            return
        buying, trade = self.buying, self.buying.stock.gas_trade
        drawn = buying.luck.of("gas lead", code, grams).lognormvariate(0.0, 0.25)
        lead = max(2, round(trade.stated_lead_days * drawn))
        comes = days_ago - lead
        if not buying.comes_on(trade, comes) or days_left > lead + WEEK + 1:
            return
        wanted = (("co2", Mass.g(grams), 1),)
        order = buying.send(trade, wanted, days_ago)
        self.sent[code] = Ordered(trade, wanted, days_ago, comes, order)

    def exchange(self, code: str, old: Container, grams: int, days_ago: int) -> Container:
        """The full one from the store takes the old one's place, which goes back to the supplier.

        Where none waits, one is fetched from the yard and the old one is left there.
        """
        house, stock = self.buying.house, self.buying.stock
        by, at = house.people["odile"], house.at(days_ago, time(14, 20))
        ready = self.full.pop(code, None)
        if ready is None:
            new = new_cylinder(house, stock, grams)
            return exchange(old=old, cylinder=new, supplier=stock.gas_trade, by=by, at=at)
        fresh = exchange(old=old, cylinder=ready, by=by, at=at)
        suppliers.note_deposit(
            supplier=stock.gas_trade,
            amount_cents=-DEPOSIT_CENTS,
            reason="deposit back",
            container=old,
            by=house.people["iskra"],
            at=at,
        )
        return fresh
