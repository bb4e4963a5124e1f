"""One row of a buy list: how much of an item, from whom, with which van."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from inventory.forecast.amounts import (
    Amount,
    Arrivals,
    Limits,
    Need,
    Pack,
    amount_of,
    arrivals_of,
    need,
)
from inventory.forecast.reorder import REVIEW_DAYS
from inventory.forecast.types import Supplier as Delivering
from inventory.models import Forecast, Item, SupplierItem
from inventory.queries.buy_facts import BuyFacts, left_too_old, use_ahead
from inventory.queries.buy_types import BuyLine, Group
from inventory.queries.orders import OnOrder
from inventory.queries.suppliers import delivering, is_past_cut_off, window

BUILDS_AHEAD_DAYS = 42
"""Builds within so many days are on the list (own assumption, no source)."""
SURE = 0.95
AGES_AHEAD_DAYS = 120


class Rows:
    """Makes rows out of what was read."""

    def __init__(self, facts: BuyFacts) -> None:
        self.facts = facts
        self.today = facts.today

    def line(
        self, group: Group, row: Forecast, by: date, *, reviews: int = 1, least: int = 0
    ) -> BuyLine | None:
        """A row for an item that must be ordered by a day; of at least ``least`` base units."""
        offer = self.offer(row.item_id)
        if offer is None:
            return None
        day = max(0, (by - self.today).days)
        vans = self.vans(offer, row.item, day, reviews)
        use = use_ahead(row, self.facts.parts.get(row.item_id))
        kept = [
            one
            for one in self.facts.reserved.get(row.item_id, [])
            if one.needed_on <= self.today + timedelta(days=vans.next_likely)
        ]
        before, after = self.to_come(row.item_id, vans.likely)
        until = self.today + timedelta(days=vans.next_likely)
        level = float(row.level_base) - sum(one.amount_base for one in kept)
        level -= self.too_old_by(row.item_id, until)
        found = need(use, vans, level, before, after)
        if found.wanted < least:
            there = found.used_before + found.left + found.coming
            found = replace(found, until_next=there + least)
        packs = self.packs(row.item_id, offer)
        amount = amount_of(found, use, vans.likely, packs, self.limits(row.item))
        line = self.as_line(group, row, self.offer_of(offer, amount), amount, found, vans, by)
        return replace(
            line, spoken_for=tuple(kept), too_old=round(self.too_old_by(row.item_id, until))
        )

    def too_old_by(self, item_id: int, day: date) -> float:
        """What is thrown away until a day because its container was open too long [base units]."""
        rows = self.facts.ageing.get(item_id, [])
        return sum(left_too_old(row) for row in rows if row.too_old_on and row.too_old_on <= day)

    def order_by(self, row: Forecast) -> date | None:
        """The last day to order an item; sooner than its projection says where all of it that
        will be left on a day is too old then.
        """
        by = row.order_by_on
        offer = self.offer(row.item_id)
        for one in self.facts.ageing.get(row.item_id, []):
            old = one.too_old_on
            if old is None or offer is None or old > self.today + timedelta(days=AGES_AHEAD_DAYS):
                continue
            use = use_ahead(row, self.facts.parts.get(row.item_id))
            left = row.level_base - use.by(max(0, (old - self.today).days))[0]
            if 0 < left <= self.too_old_by(row.item_id, old) * 1.02:
                sooner, _ = self.by_for(offer, row.item, old)
                by = sooner if by is None else min(by, sooner)
        return by

    def by_for(self, offer: SupplierItem, item: Item, needed: date) -> tuple[date, bool]:
        """The last day whose order is here by a day in 19 of 20 cases; today and late if none."""
        who = self.who(offer, item)
        found: date | None = None
        day = self.today
        while day < needed:
            sent = who if day == self.today else from_tomorrow(who)
            _, latest = window(sent, day, (0.5, SURE))
            if latest > needed:
                break
            found, day = day, day + timedelta(days=1)
        return found or self.today, found is None

    def as_line(
        self,
        group: Group,
        row: Forecast,
        offer: SupplierItem,
        amount: Amount,
        found: Need,
        vans: Arrivals,
        by: date | None,
    ) -> BuyLine:
        return BuyLine(
            group=group,
            item=row.item,
            offer=offer,
            amount=amount,
            packs=amount.packs,
            order_by=max(by or self.today, self.today),
            need=found,
            lasts_to=self.day(amount.lasts_to),
            fewer_to=self.day(amount.fewer_to),
            next_on=self.today + timedelta(days=vans.next_likely),
        )

    def day(self, days: float | None) -> date | None:
        return None if days is None or days > 3_000 else self.today + timedelta(days=int(days))

    def to_come(self, item_id: int, arrives: int) -> tuple[float, float]:
        """On order: what comes by a day, and what comes later; the late ones count as later."""
        rows: Sequence[OnOrder] = self.facts.coming.get(item_id, ())
        day = self.today + timedelta(days=arrives)
        before = sum(one.base for one in rows if one.expected_to and one.expected_to <= day)
        return float(before), float(sum(one.base for one in rows) - before)

    def offer(self, item_id: int) -> SupplierItem | None:
        """The preferred pack of somebody who delivers."""
        for offer in self.facts.offers.get(item_id, []):
            if "1" in offer.supplier.delivery_weekdays:
                return offer
        return None

    def packs(self, item_id: int, offer: SupplierItem) -> list[Pack]:
        return [
            pack_of(one)
            for one in self.facts.offers.get(item_id, [])
            if one.supplier_id == offer.supplier_id
        ]

    def offer_of(self, offer: SupplierItem, amount: Amount) -> SupplierItem:
        return next(
            one
            for one in self.facts.offers[offer.item_id]
            if one.supplier_id == offer.supplier_id and one.pack_base == amount.pack.base
        )

    def limits(self, item: Item) -> Limits:
        return Limits(
            storage_base=item.storage_max_base,
            opened_life_days=item.opened_life_days,
            printed_life_days=self.facts.printed_life.get(item.pk),
        )

    def who(self, offer: SupplierItem, item: Item) -> Delivering:
        supplier = self.facts.suppliers[offer.supplier_id]
        return delivering(
            supplier,
            self.facts.leads.get(supplier.pk, ()),
            lead_days=offer.lead_days,
            living=item.is_living,
            past_cut_off=is_past_cut_off(supplier, self.facts.at),
        )

    def vans(self, offer: SupplierItem, item: Item, day: int = 0, reviews: int = 1) -> Arrivals:
        who = self.who(offer, item)
        return arrivals_of(who, self.today, REVIEW_DAYS * reviews, sent=day)


def from_tomorrow(who: Delivering) -> Delivering:
    return replace(who, past_cut_off_today=False)


def pack_of(offer: SupplierItem) -> Pack:
    return Pack(offer.pack_base, offer.price_cents, offer.is_preferred)


def plain(offer: SupplierItem, packs: int) -> Amount:
    return Amount(pack_of(offer), packs, packs, None, "", None, None, None, goes_off=False)
