"""A van is written down: what was typed so far, as vessels, with what follows from it.

The page shows the same whether it was just opened, half filled in, or refused; what is typed is a
plain mapping of its fields, so it can be kept and taken up again. Reading it is
:mod:`gallery_ops.overview.receipt_typed`; nothing is written here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import prefetch_related_objects
from django.utils.translation import gettext as _

from gallery_ops.drawing.pips import Pips, pips_svg
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.money import Money
from gallery_ops.kernel.values.quantity import Quantity
from gallery_ops.overview.receipt_typed import Known, TypedLine, known_of, read_line
from inventory.models import Container, Item, OrderLine, PurchaseOrder
from inventory.queries.items import open_items
from inventory.queries.orders import (
    lines_of,
    order_of,
    outstanding,
    settled_packs,
    to_pay_of,
)
from inventory.queries.packs import Vessel, pack_words, vessels
from inventory.queries.plans import steps
from inventory.queries.suppliers import (
    LeadKnown,
    day_of,
    delivering,
    lead_known,
    next_van,
    offers,
    seen_leads,
)
from inventory.services.receipts import Came

WEEK = 7


@dataclass(frozen=True, slots=True)
class Substitute:
    """What follows when another thing is kept.

    Parameters
    ----------
    words : what came, in packs
    days : how long all of it feeds at the planned use; None when nothing is planned
    keeps_days : its opened life
    waste : about so much of a pack would go off; nothing when it is used up in time
    differs : sentences about density and dose
    """

    words: str
    days: float | None
    keeps_days: int | None
    waste: Quantity | None
    split: tuple[Quantity, Quantity] | None
    differs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the order while a van is written down.

    ``number`` is its place among all lines of the order, so that what was typed of it stays with it
    also when another line was received meanwhile.
    """

    number: int
    line: OrderLine
    ordered: str
    left: int
    typed: TypedLine
    pips: Pips
    vessel: Vessel
    is_gas: bool
    is_refill: bool
    substitute: Substitute | None

    @property
    def drawing(self) -> str:
        """Its vessels."""
        return pips_svg(self.pips)

    @property
    def rest(self) -> int:
        """Packs still to come after this van."""
        return max(0, self.left - self.typed.settles)

    @property
    def asks_rest(self) -> bool:
        """Must somebody say whether it stays on order?"""
        goes_back = self.typed.other is not None and self.typed.keep == "back"
        return self.typed.is_said and self.rest > 0 and not goes_back

    @property
    def over(self) -> int:
        """Packs more than were to come."""
        return max(0, self.typed.whole + self.typed.broken - self.left)

    @property
    def containers(self) -> int:
        """Containers with a code of their own that this will book."""
        if self.is_gas or not self.typed.whole:
            return 0
        loose = self.line.item.dimension == "piece" and self.line.pack_base == 1
        return 1 if loose else self.typed.whole


@dataclass(frozen=True, slots=True)
class Sums:
    """What the van is worth: what came whole, what is claimed, what is still on order."""

    came: Money
    claimed: Money
    on_order: Money


@dataclass(frozen=True, slots=True)
class ReceiptPage:
    """Everything that the page shows."""

    order: PurchaseOrder
    rows: list[Row]
    done: list[tuple[OrderLine, str]]
    """Lines of which nothing is to come any more."""
    to_pay: Money
    sums: Sums
    days: int
    lead_before: LeadKnown
    lead_after: LeadKnown
    is_first: bool
    next_van: date | None
    claim_until: datetime | None
    items: list[Item]
    back: list[Container]
    """Cylinders of the house that a van may take along."""
    errors: dict[str, str] = field(default_factory=dict)

    @property
    def said(self) -> list[Row]:
        """Rows in which something was written."""
        return [row for row in self.rows if row.typed.is_said]

    @property
    def came(self) -> list[Came]:
        """What the service is told."""
        return [row.typed.as_came(row.line) for row in self.said]


def receipt_page(
    showroom: Showroom, uid: UUID, typed: Mapping[str, str], at: datetime
) -> ReceiptPage:
    """The page as it stands after what was typed. Raises Unknown."""
    order = order_of(showroom, uid)
    prefetch_related_objects([order], "supplier__closures")
    lines = lines_of([order]).get(order.pk, [])
    settled = settled_packs(lines)
    known = known_of(showroom)
    sold = {(o.item_id, o.pack_base): o for o in offers(showroom, [order.supplier_id])}
    left = {line.pk: outstanding(line, settled.get(line.pk, 0)) for line in lines}
    numbered = {line.pk: number for number, line in enumerate(lines, start=1)}
    open_lines = [line for line in lines if left[line.pk]]
    refills = {key for key, offer in sold.items() if offer.how == "refill"}
    read = {
        line.pk: read_line(
            numbered[line.pk],
            line,
            left[line.pk],
            typed,
            known,
            with_cylinders=(line.item_id, line.pack_base) not in refills,
        )
        for line in open_lines
    }
    kinds = _kinds(showroom, lines, read)
    per_day = _per_day(showroom, open_lines, at)
    rows = [
        _row(numbered[line.pk], line, left[line.pk], read[line.pk], kinds, refills, per_day)
        for line in open_lines
    ]
    errors = {key: words for row in rows for key, words in row.typed.errors.items()}
    errors |= _settled_meanwhile([x for x in lines if not left[x.pk]], numbered, typed)
    seen = seen_leads(showroom, [order.supplier_id]).get(order.supplier_id, ())
    sent = day_of(showroom, order.sent_at or order.made_at)
    days = (day_of(showroom, at) - sent).days
    is_first = not any(settled.values())
    hours = order.supplier.claim_hours
    mark = showroom.decimal_mark
    return ReceiptPage(
        order=order,
        rows=rows,
        done=[(x, _words(x, x.packs, kinds, mark)) for x in lines if not left[x.pk]],
        to_pay=to_pay_of([order])[order.pk],
        sums=_sums(order, rows),
        days=days,
        lead_before=lead_known(order.supplier, seen),
        lead_after=lead_known(order.supplier, (*seen, float(max(days, 1)))),
        is_first=is_first,
        next_van=next_van(delivering(order.supplier, seen), day_of(showroom, at)),
        claim_until=at + timedelta(hours=hours) if hours is not None else None,
        items=open_items(showroom),
        back=list(known.cylinders.values()),
        errors=errors,
    )


def _settled_meanwhile(
    done: list[OrderLine], numbered: Mapping[int, int], typed: Mapping[str, str]
) -> dict[str, str]:
    """Something was typed of a line of which nothing is to come any more."""
    names = [x.item.name for x in done if typed.get(f"came-{numbered[x.pk]}", "").strip()]
    if not names:
        return {}
    words = _(
        "%(names)s: another entry came between, and nothing more of it is to come. "
        "Compare with the receipts of this order."
    )
    return {"done": words % {"names": ", ".join(names)}}


def _row(
    number: int,
    line: OrderLine,
    left: int,
    typed: TypedLine,
    kinds: dict[tuple[int, int], Vessel],
    refills: set[tuple[int, int]],
    per_day: dict[int, float],
) -> Row:
    mark = line.showroom.decimal_mark
    is_gas = line.item.kind == "gas"
    substitute = _substitute(line, typed, kinds, per_day, mark)
    typed.sealed = substitute.waste if substitute is not None else None
    other = typed.for_packs if typed.other is not None else 0
    gone = min(left, typed.whole + typed.broken + other)
    return Row(
        number=number,
        line=line,
        ordered=_words(line, left, kinds, mark),
        left=left,
        typed=typed,
        pips=Pips(
            came=typed.whole,
            broken=typed.broken,
            instead=other,
            to_come=max(0, left - gone),
        ),
        vessel=kinds[line.item_id, line.pack_base],
        is_gas=is_gas,
        is_refill=(line.item_id, line.pack_base) in refills,
        substitute=substitute,
    )


def _words(line: OrderLine, packs: int, kinds: dict[tuple[int, int], Vessel], mark: str) -> str:
    return pack_words(
        line.item, line.pack_base, packs, kinds[line.item_id, line.pack_base].kind, mark
    )


def _kinds(
    showroom: Showroom, lines: list[OrderLine], read: dict[int, TypedLine]
) -> dict[tuple[int, int], Vessel]:
    packs = [(line.item, line.pack_base) for line in lines]
    packs += [(t.other, t.pack.base) for t in read.values() if t.other and t.pack]
    return vessels(showroom, packs)


# --- a substitute -------------------------------------------------------------------------------
def _substitute(
    line: OrderLine,
    typed: TypedLine,
    kinds: dict[tuple[int, int], Vessel],
    per_day: dict[int, float],
    mark: str,
) -> Substitute | None:
    item, pack = typed.other, typed.pack
    if item is None or pack is None:
        return None
    words = pack_words(item, pack.base, max(1, typed.packs), kinds[item.pk, pack.base].kind, mark)
    use = per_day.get(line.item_id, 0.0)
    keeps = item.opened_life_days
    days = pack.base * max(1, typed.packs) / use if use else None
    waste = None
    if use and keeps is not None and pack.base > use * keeps:
        waste = pack.of_base(round(pack.base - use * keeps))
    return Substitute(
        words=words if item.pk == line.item_id else f"{item.name}, {words}",
        days=days,
        keeps_days=keeps,
        waste=waste,
        split=(pack.of_base(pack.base - waste.base), waste) if waste is not None else None,
        differs=tuple(_differences(line.item, item, mark)),
    )


def _differences(ordered: Item, came: Item, mark: str) -> list[str]:
    """What is not the same about the other item, beyond its name."""
    if ordered.pk == came.pk:
        return []
    found = []
    if came.dimension == "volume" and came.density_mg_per_ml != ordered.density_mg_per_ml:
        a, b = ordered.density_mg_per_ml / 1000, came.density_mg_per_ml / 1000
        words = f"1 mL weighs {b:g} g instead of {a:g} g: it is weighed with its own density."
        found.append(words.replace(".", mark) if mark == "," else words)
    before, after = ordered.full_dose_ul_per_l, came.full_dose_ul_per_l
    if before and after and before != after:
        found.append(
            f"A full dose is {after} µL a litre instead of {before}: presses and plans change "
            "before it is used."
        )
    found.append(f"Plans go on asking for {ordered.name} until they are changed.")
    return found


def _per_day(showroom: Showroom, lines: list[OrderLine], at: datetime) -> dict[int, float]:
    """Item id -> planned use a day over the coming week [base units]."""
    today = day_of(showroom, at)
    last = today + timedelta(days=WEEK)
    found: dict[int, float] = {}
    for step in steps(showroom, today, last, item_ids={line.item_id for line in lines}):
        week = sum(step.on(today + timedelta(days=n)) for n in range(1, WEEK + 1))
        found[step.item_id] = found.get(step.item_id, 0.0) + week / WEEK
    return found


# --- what it is worth ---------------------------------------------------------------------------
def _sums(order: PurchaseOrder, rows: list[Row]) -> Sums:
    currency = order.showroom.currency
    came = sum((row.line.price_cents or 0) * row.typed.whole for row in rows)
    claimed = sum((row.line.price_cents or 0) * row.typed.broken for row in rows)
    rest = sum((row.line.price_cents or 0) * row.rest for row in rows if row.typed.stays != "no")
    return Sums(Money(came, currency), Money(-claimed, currency), Money(rest, currency))


__all__ = ["Known", "ReceiptPage", "Row", "receipt_page"]
