"""Rows, vans and sections of a buy list."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from inventory.forecast.amounts import Amount, Need
from inventory.models import Forecast, Item, PurchaseOrder, Reservation, Supplier, SupplierItem
from inventory.queries.packs import PackKey, Vessel
from inventory.queries.suppliers import LeadKnown

Group = Literal["must", "join", "build", "optional"]
GROUPS: tuple[Group, ...] = ("must", "join", "build", "optional")


@dataclass(frozen=True, slots=True)
class BuyLine:
    """A row: so many packs of an item, what is left when the van comes, and the reasons.

    ``packs`` is what stands on the draft, else what is proposed. ``need`` None for a cylinder or a
    build. ``lasts_to`` likely gone then with this order; ``fewer_to`` from then on one pack fewer
    may be gone. ``too_old``: of what is there, so much will be too old before the next order [base
    units]. ``waits``: not proposed, since the cash set aside would not reach.
    """

    group: Group
    item: Item
    offer: SupplierItem
    amount: Amount
    packs: int
    order_by: date
    need: Need | None = None
    lasts_to: date | None = None
    fewer_to: date | None = None
    next_on: date | None = None
    spoken_for: tuple[Reservation, ...] = ()
    cylinders: tuple[str, ...] = ()
    spare: int = 0
    waits: bool = False
    too_old: int = 0
    is_late: bool = False

    @property
    def cents(self) -> int | None:
        """What it costs."""
        price = self.offer.price_cents
        return None if price is None else self.packs * price


@dataclass(frozen=True, slots=True)
class Van:
    """When an order goes and comes. ``is_past``: today's last hour for an order is over."""

    order_by: date
    likely: date
    earliest: date
    latest: date
    lead: LeadKnown
    is_past: bool


@dataclass(frozen=True, slots=True)
class BuySection:
    """What is bought from one supplier, with one van; money in cents."""

    supplier: Supplier
    van: Van
    lines: tuple[BuyLine, ...]
    draft: PurchaseOrder | None
    goods: int
    carriage: int
    unpriced: int
    closed: tuple[tuple[date, date], ...]
    kinds: dict[PackKey, Vessel]

    @property
    def to_pay(self) -> int:
        """Goods and carriage."""
        return self.goods + self.carriage

    @property
    def is_smallest_met(self) -> bool:
        """Do they take an order of this size?"""
        return self.goods >= self.supplier.min_order_cents

    def group(self, group: Group) -> tuple[BuyLine, ...]:
        """Rows of one group."""
        return tuple(line for line in self.lines if line.group == group)


@dataclass(frozen=True, slots=True)
class BuyList:
    """All sections, the soonest first; ``unknown`` are items that must be ordered of whom nobody
    knows who delivers; ``next_order_by`` the first day on which something else must go."""

    today: date
    sections: tuple[BuySection, ...]
    unknown: tuple[Forecast, ...]
    next_order_by: date | None
    budget: int | None
    spent: int

    @property
    def to_pay(self) -> int:
        """All sections together."""
        return sum(one.to_pay for one in self.sections)

    @property
    def over(self) -> int:
        """By how much it costs more than is left for the month; 0 when it fits or none was set."""
        return 0 if self.budget is None else max(0, self.spent + self.to_pay - self.budget)
