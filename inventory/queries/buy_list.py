"""What to buy this week: by supplier and van, how much, why so much, and what it costs.

Four groups, in this order: what must go now (it would run out before the next look at the list
could help), what joins (it would ask before the order after this one comes), what a booked build
needs, and what is optional (it saves its own cost, or makes the smallest order). Read from stored
projections: nothing waits here for a new one.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from gallery_ops.kernel.models import Showroom
from inventory.forecast.reorder import REVIEW_DAYS
from inventory.forecast.watch import must_reorder
from inventory.models import Forecast
from inventory.queries.buy_asked import builds, gas, joins, must
from inventory.queries.buy_facts import buy_facts
from inventory.queries.buy_more import add_drafted, optional, within_cash
from inventory.queries.buy_rows import BUILDS_AHEAD_DAYS, SURE, Rows, from_tomorrow
from inventory.queries.buy_types import GROUPS, BuyLine, BuyList, BuySection, Van
from inventory.queries.orders import usual_carriage
from inventory.queries.packs import PackKey, Vessel, vessels
from inventory.queries.suppliers import lead_known, window


def buy_list(showroom: Showroom, at: datetime) -> BuyList:
    """This week's list; the number of queries does not grow with items, orders or suppliers."""
    facts = buy_facts(showroom, at)
    rows = Rows(facts)
    by_supplier = _proposed(rows)
    left = None if facts.budget is None else max(0, facts.budget - facts.spent)
    by_supplier = within_cash(by_supplier, left)
    add_drafted(rows, by_supplier)
    packs = [(one.item, one.offer.pack_base) for some in by_supplier.values() for one in some]
    kinds = vessels(showroom, packs)
    sections = [section(rows, key, some, kinds) for key, some in by_supplier.items()]
    return BuyList(
        today=facts.today,
        sections=tuple(sorted(sections, key=lambda one: (one.van.order_by, one.supplier.name))),
        unknown=tuple(unknown(rows)),
        next_order_by=next_order_by(rows),
        budget=facts.budget,
        spent=facts.spent,
    )


def _proposed(rows: Rows) -> dict[int, list[BuyLine]]:
    """Rows by supplier, each item once."""
    lines = [*must(rows), *gas(rows)]
    lines += builds(rows, {line.item.pk for line in lines})
    going = {line.offer.supplier_id for line in lines}
    lines += joins(rows, going, {line.item.pk for line in lines})
    gone = {line.item.pk for line in lines}
    by_supplier: dict[int, list[BuyLine]] = {}
    for line in lines:
        by_supplier.setdefault(line.offer.supplier_id, []).append(line)
    for supplier_id, some in by_supplier.items():
        some += optional(rows, supplier_id, some, gone)
    return by_supplier


def unknown(rows: Rows) -> Iterable[Forecast]:
    """What runs out within the horizon of the list, and nobody is known to deliver it."""
    soon = rows.today + timedelta(days=BUILDS_AHEAD_DAYS)
    for row in rows.facts.items.values():
        known = any(
            "1" in one.supplier.delivery_weekdays for one in rows.facts.offers.get(row.item_id, [])
        )
        if not known and row.earliest_on is not None and row.earliest_on <= soon:
            yield row


def next_order_by(rows: Rows) -> date | None:
    """The first day after the next look on which something must go."""
    later = [
        row.order_by_on
        for row in (*rows.facts.items.values(), *rows.facts.cylinders)
        if row.order_by_on and not must_reorder(row.order_by_on, rows.today, REVIEW_DAYS)
    ]
    return min(later, default=None)


def section(
    rows: Rows, supplier_id: int, lines: list[BuyLine], kinds: dict[PackKey, Vessel]
) -> BuySection:
    """One supplier with all that is bought there."""
    supplier = rows.facts.suppliers[supplier_id]
    urgent = [line for line in lines if line.group in {"must", "build"}] or lines
    by = min(line.order_by for line in urgent)
    who = rows.who(lines[0].offer, min(lines, key=lambda one: not one.item.is_living).item)
    past = by == rows.today and who.past_cut_off_today
    sent = who if by == rows.today else from_tomorrow(who)
    likely, latest = window(sent, by, (0.5, SURE))
    earliest, _ = window(sent, by, (0.05, SURE))
    goods = sum(line.cents or 0 for line in lines)
    order, _ = rows.facts.drafts.get(supplier_id, (None, []))
    carriage = usual_carriage(supplier, goods)
    if order is not None and order.carriage_cents is not None:
        carriage = int(order.carriage_cents)
    ahead = rows.today + timedelta(days=BUILDS_AHEAD_DAYS)
    rank = {group: n for n, group in enumerate(GROUPS)}
    return BuySection(
        supplier=supplier,
        van=Van(by, likely, earliest, latest,
                lead_known(supplier, rows.facts.leads.get(supplier_id, ())), past),
        lines=tuple(
            sorted(lines, key=lambda one: (rank[one.group], one.item.harm_class, one.item.name))
        ),
        draft=order,
        goods=goods,
        carriage=carriage,
        unpriced=sum(1 for line in lines if line.packs and line.offer.price_cents is None),
        closed=tuple(
            (one.from_on, one.to_on)
            for one in supplier.closures.all()
            if one.to_on > rows.today and one.from_on <= ahead
        ),
        kinds=kinds,
    )  # fmt: skip
