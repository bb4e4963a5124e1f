"""What must go now, what joins, which cylinders are exchanged, what builds need."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta

from inventory.forecast.amounts import Limits, Need, amount_of, steady
from inventory.forecast.reorder import REVIEW_DAYS
from inventory.forecast.watch import must_reorder
from inventory.models import Forecast, Reservation
from inventory.queries.buy_facts import use_ahead
from inventory.queries.buy_rows import BUILDS_AHEAD_DAYS, Rows, plain
from inventory.queries.buy_types import BuyLine
from inventory.queries.cover import covered
from inventory.queries.cylinder_cover import without_spare


def asking(rows: Rows) -> Iterable[Forecast]:
    """Items whose order-by date comes before somebody looks again, and nothing covers them."""
    for row in rows.facts.items.values():
        by = rows.order_by(row)
        if by is None or not must_reorder(by, rows.today, REVIEW_DAYS):
            continue
        if by != row.order_by_on or not covered(
            row, rows.facts.coming.get(row.item_id, ()), rows.today, REVIEW_DAYS
        ):
            yield row


def must(rows: Rows) -> list[BuyLine]:
    """What would run out before an order after this one could help; at least one pack of it where
    none is to come. Where some is, or the day comes from what will be too old, it may be enough.
    """
    found = []
    for row in asking(rows):
        by = rows.order_by(row)
        is_first = by == row.order_by_on and not rows.facts.coming.get(row.item_id)
        line = rows.line("must", row, by or rows.today, least=int(is_first))
        if line is not None and line.amount.enough:
            found.append(line)
    return found


def joins(rows: Rows, going: set[int], gone: set[int]) -> list[BuyLine]:
    """What would ask before the order after this one comes, of whom something is ordered."""
    found: list[BuyLine] = []
    for row in rows.facts.items.values():
        offer = rows.offer(row.item_id)
        by = row.order_by_on
        if by is None or offer is None or row.item_id in gone:
            continue
        if offer.supplier_id not in going:
            continue
        vans = rows.vans(offer, row.item)
        if by > rows.today + timedelta(days=vans.next_likely):
            continue
        if covered(row, rows.facts.coming.get(row.item_id, ()), rows.today, REVIEW_DAYS):
            continue
        line = rows.line("join", row, by, reviews=2)
        if line is not None and line.amount.packs:
            found.append(line)
    return found


def gas(rows: Rows) -> list[BuyLine]:
    """A full cylinder for each that has nobody to follow it, by size."""
    near = [
        row
        for row in rows.facts.cylinders
        if row.order_by_on and must_reorder(row.order_by_on, rows.today, REVIEW_DAYS)
    ]
    coming = rows.facts.coming
    followed_by_none = list(without_spare(rows.facts.showroom, near, coming)) if near else []
    by_size: dict[tuple[int, int], list[Forecast]] = {}
    for row in followed_by_none:
        if row.container is not None:
            by_size.setdefault((row.item_id, row.container.capacity_base), []).append(row)
    found: list[BuyLine] = []
    for (item_id, size), some in by_size.items():
        offers = rows.facts.offers.get(item_id, [])
        offer = next((one for one in offers if one.pack_base == size), None)
        if offer is None:
            continue
        by = min(row.order_by_on or rows.today for row in some)
        found.append(
            BuyLine(
                group="must",
                item=some[0].item,
                offer=offer,
                amount=plain(offer, len(some)),
                packs=len(some),
                order_by=max(by, rows.today),
                cylinders=tuple(
                    rows.facts.names.get(row.container_id or 0, str(row.container)) for row in some
                ),
            )
        )
    return found


def builds(rows: Rows, gone: set[int]) -> list[BuyLine]:
    """What is spoken for and not there, for builds of the next weeks."""
    found: list[BuyLine] = []
    for item_id, kept in rows.facts.reserved.items():
        near = [
            row for row in kept if row.needed_on <= rows.today + timedelta(days=BUILDS_AHEAD_DAYS)
        ]
        offer = rows.offer(item_id)
        if not near or offer is None or item_id in gone:
            continue
        wanted = missing(rows, near)
        if wanted <= 0:
            continue
        by, late = rows.by_for(offer, near[0].item, min(row.needed_on for row in near))
        limits = Limits(storage_base=near[0].item.storage_max_base)
        amount = amount_of(
            Need(wanted, 0.0, 0.0, 0.0),
            steady(0.0, 0.0),
            0,
            rows.packs(item_id, offer),
            limits,
        )
        offer = rows.offer_of(offer, amount)
        found.append(
            BuyLine(
                group="build",
                item=near[0].item,
                offer=offer,
                amount=amount,
                packs=amount.packs,
                order_by=by,
                spoken_for=tuple(near),
                is_late=late,
            )
        )
    return found


def missing(rows: Rows, near: Sequence[Reservation]) -> float:
    """What builds need beyond what will be there for them [base units]."""
    item_id = near[0].item_id
    first = min(row.needed_on for row in near)
    coming = sum(
        one.base
        for one in rows.facts.coming.get(item_id, ())
        if one.expected_to is not None and one.expected_to <= first
    )
    there = float(rows.facts.levels.get(item_id, 0) + coming)
    row = rows.facts.items.get(item_id)
    if row is not None:  # what the plan uses until then, and what lasts until the next order
        use = use_ahead(row, rows.facts.parts.get(item_id))
        there -= use.by((first - rows.today).days + REVIEW_DAYS)[0]
    return sum(one.amount_base for one in near) - max(0.0, there)
