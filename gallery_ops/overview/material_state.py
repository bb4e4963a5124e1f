"""Where does each thing of a build come from: the store, our own, an order, or nowhere yet?"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.money import Money
from gallery_ops.kernel.values.quantity import quantity
from inventory.models import Item
from inventory.queries.orders import OnOrder, on_order
from inventory.queries.reservations import Kept, reservations_open, stock_of
from tanks.models import MaterialLine, Secured
from tanks.queries.needs import Needed


@dataclass(frozen=True, slots=True)
class Line:
    """One line as the page shows it. ``state``: reserved, coming, part, substitute, short, open."""

    row: Needed
    state: str
    words: str
    item: Item | None
    kept: Kept | None
    loose: Kept | None
    currency: str

    @property
    def needed(self) -> str:
        """How many, in words: "6 cups", "11.4 kg"."""
        return in_words(self.row.need.count, self.row.need.unit)

    @property
    def counted(self) -> str:
        """What went in on building day, in words."""
        return in_words(self.row.line.actual_count or 0, self.row.need.unit)

    @property
    def delta(self) -> str:
        """More or less than planned, in words."""
        return in_words(self.row.delta or 0, self.row.need.unit)

    @property
    def plan(self) -> Money | None:
        """What it costs by plan."""
        cents = self.row.plan_cents
        return None if cents is None else Money(cents, self.currency)

    @property
    def actual(self) -> Money | None:
        """What it came to."""
        cents = self.row.actual_cents
        return None if cents is None else Money(cents, self.currency)

    @property
    def count_unit(self) -> str:
        """The unit in which it is counted on building day."""
        return {"g": "kg", "min": "hours"}.get(self.row.need.unit, f"{self.row.need.unit}s")

    @property
    def scale(self) -> int:
        """What a number as typed is multiplied by."""
        return {"g": 1_000, "min": 60}.get(self.row.need.unit, 1)

    @property
    def mark(self) -> str:
        """The mark beside the words."""
        marks = {"reserved": "done", "part": "half", "short": "over", "substitute": "substitute"}
        return marks.get(self.state, "to_do")

    @property
    def can_reserve(self) -> bool:
        """Does the store keep it, and nothing is kept yet?"""
        return self.item is not None and self.kept is None and self.row.need.count > 0


def lines_of(
    showroom: Showroom, rows: list[Needed], items: dict[str, Item], at: datetime
) -> list[Line]:
    """Each line with its state, and what the store keeps for it; a constant number of queries."""
    kept = reservations_open(showroom, at)
    mine = {one.reservation.uid: one for one in kept}
    by_item: dict[int, list[Kept]] = defaultdict(list)
    for one in kept:
        by_item[one.reservation.item_id].append(one)
    wanted = {items[row.line.item_code].pk for row in rows if row.line.item_code in items}
    stock = stock_of(wanted)
    coming = on_order(showroom, wanted, at=at)
    named = {row.line.reservation for row in rows}
    tank_id = rows[0].line.layout.tank_id if rows else 0
    found = []
    for row in rows:
        item = items.get(row.line.item_code)
        own = mine.get(row.line.reservation) if row.line.reservation else None
        others = [one for one in by_item[item.pk] if one is not own] if item else []
        loose = next(
            (
                one
                for one in others
                if one.reservation.tank_id == tank_id and one.reservation.uid not in named
            ),
            None,
        )
        key = item.pk if item else 0
        state, words = _state(row.line, own, item, others, stock.get(key, 0), coming.get(key, []))
        found.append(Line(row, state, words, item, own, loose, showroom.currency))
    return found


def _state(
    line: MaterialLine,
    own: Kept | None,
    item: Item | None,
    others: list[Kept],
    stock_base: int,
    coming: list[OnOrder],
) -> tuple[str, str]:
    if line.substitute_for and line.agreed_on is None:
        return "substitute", _("instead of %(what)s; the designer has not said yes") % {
            "what": line.substitute_for
        }
    if own is not None:
        return _of_store(own, coming)
    if line.secured == Secured.OWN:
        return "reserved", _with(_("our own"), line)
    if line.secured == Secured.ORDERED:
        return "coming", _with(_("ordered"), line)
    if line.secured == Secured.SHORT:
        return "short", _with(_("not to be had"), line)
    if item is not None:
        return "open", _elsewhere(item, others, stock_base)
    return "open", _("nobody said where from")


def _of_store(own: Kept, coming: list[OnOrder]) -> tuple[str, str]:
    if own.is_whole:
        return "reserved", _("reserved, all of it is here")
    missing = own.amount.base - own.here.base
    here = _("%(here)s are here") % {"here": own.here.text()} if own.here.base else ""
    if coming and sum(one.base for one in coming) >= missing:
        first = coming[0]
        words = _("on order, expected from %(day)s") % {"day": f"{first.expected_from:%-d %B}"}
    else:
        words = _("on the buy list")
    return "part" if own.here.base else "coming", ", ".join(part for part in (here, words) if part)


def _elsewhere(item: Item, others: list[Kept], stock_base: int) -> str:
    """What is free, and what is kept for others: "4 of 6 pcs are kept for T03"."""
    kept = sum(one.amount.base for one in others)
    free = quantity(item.dimension, max(0, stock_base - kept)).text()
    words = [_("%(free)s free in the store") % {"free": free}]
    words += [
        _("%(kept)s of %(all)s are kept for %(whom)s")
        % {
            "kept": one.amount.text().partition(" ")[0],
            "all": quantity(item.dimension, max(stock_base, one.amount.base)).text(),
            "whom": one.tank_code or one.reservation.for_what,
        }
        for one in others[:2]
    ]
    return "; ".join(words)


def _with(words: str, line: MaterialLine) -> str:
    day = f"{line.secured_on:%-d %B}" if line.secured_on else ""
    return ", ".join(part for part in (words, line.secured_words, day) if part)


def in_words(count: int, unit: str) -> str:
    """A count with its unit; grams as kilograms, minutes as hours.

    >>> in_words(6, "cup"), in_words(11_400, "g")
    ('6 cups', '11.4 kg')
    """
    if unit == "g":
        return f"{count / 1_000:.1f} kg"
    if unit == "min":
        return f"{count / 60:g} h"
    return f"{count:,} {unit}" if abs(count) == 1 else f"{count:,} {unit}s"
