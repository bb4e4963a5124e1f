"""What else comes on a list: what pays for itself, what stands on a draft; and the cash."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from inventory.forecast.amounts import Need, amount_of, need
from inventory.models import Forecast, SupplierItem
from inventory.queries.buy_facts import use_ahead
from inventory.queries.buy_rows import Rows, pack_of, plain
from inventory.queries.buy_types import BuyLine


def optional(rows: Rows, supplier_id: int, lines: list[BuyLine], gone: set[int]) -> list[BuyLine]:
    """One thing more that makes the smallest order, or costs less than the carriage it saves."""
    supplier = rows.facts.suppliers[supplier_id]
    goods = sum(line.cents or 0 for line in lines)
    to_smallest = supplier.min_order_cents - goods
    to_free = (supplier.carriage_free_from_cents or 0) - goods
    if to_smallest > 0:
        gap, most = to_smallest, None
    elif to_free > 0 and supplier.carriage_cents:
        gap, most = to_free, supplier.carriage_cents
    else:
        return []
    found: list[tuple[date, BuyLine]] = []
    for row in rows.facts.items.values():
        offer = rows.offer(row.item_id)
        if offer is None or offer.supplier_id != supplier_id or row.item_id in gone:
            continue
        price = offer.price_cents
        packs = -(-gap // price) if price else 0
        if not price or (most is not None and packs * price > most):
            continue
        line = more(rows, row, offer, packs)
        if line is not None:
            found.append((row.order_by_on or date.max, line))
    return [min(found, key=lambda one: (one[0], one[1].item.name))[1]] if found else []


def more(rows: Rows, row: Forecast, offer: SupplierItem, packs: int) -> BuyLine | None:
    """So many packs beyond the need, if they keep and fit."""
    use = use_ahead(row, rows.facts.parts.get(row.item_id))
    vans = rows.vans(offer, row.item)
    there = need(use, vans, float(row.level_base))
    asked = Need(there.left + packs * offer.pack_base, 0.0, there.left, 0.0)
    asked = replace(asked, until_next=asked.until_next + there.used_before,
                    used_before=there.used_before)  # fmt: skip
    amount = amount_of(asked, use, vans.likely, [pack_of(offer)], rows.limits(row.item))
    if amount.packs < packs or amount.goes_off:
        return None
    return rows.as_line("optional", row, offer, amount, there, vans, row.order_by_on)


def add_drafted(rows: Rows, by_supplier: dict[int, list[BuyLine]]) -> None:
    """What stands on a draft is shown with its number, also where nothing asks for it."""
    for supplier_id, (_, drafted) in rows.facts.drafts.items():
        lines = by_supplier.setdefault(supplier_id, []) if drafted else []
        asked = {(line.item.pk, line.offer.pack_base): n for n, line in enumerate(lines)}
        for row in drafted:
            n = asked.get((row.item_id, row.pack_base))
            if n is not None:
                lines[n] = replace(lines[n], packs=row.packs)
                continue
            offer = next(
                (
                    one
                    for one in rows.facts.offers.get(row.item_id, [])
                    if one.supplier_id == supplier_id and one.pack_base == row.pack_base
                ),
                None,
            )
            if offer is not None:
                lines.append(
                    BuyLine("optional", row.item, offer, plain(offer, row.packs), row.packs,
                            rows.today)
                )  # fmt: skip
        on_draft = {(row.item_id, row.pack_base) for row in drafted}
        for n, line in enumerate(lines):
            if drafted and (line.item.pk, line.offer.pack_base) not in on_draft:
                lines[n] = replace(line, packs=0)


def within_cash(
    by_supplier: dict[int, list[BuyLine]], left: int | None
) -> dict[int, list[BuyLine]]:
    """Let joins and optional rows wait that the cash of the month would not reach; what must go,
    and what a booked build needs, never waits. ``left`` in cents, None: nothing was set aside.
    """
    if left is None:
        return by_supplier
    spent = sum(
        line.cents or 0
        for lines in by_supplier.values()
        for line in lines
        if line.group in {"must", "build"}
    )
    out: dict[int, list[BuyLine]] = {key: list(lines) for key, lines in by_supplier.items()}
    for group in ("join", "optional"):
        for lines in out.values():
            for n, line in enumerate(lines):
                if line.group != group or not line.packs:
                    continue
                if spent + (line.cents or 0) <= left:
                    spent += line.cents or 0
                else:
                    lines[n] = replace(line, packs=0, waits=True)
    return out
