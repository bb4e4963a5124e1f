"""What a build needs and where it comes from: lines of the layout, and what the store keeps."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.values.money import Money
from gallery_ops.kernel.values.quantity import Quantity, quantity
from gallery_ops.overview.layout_page import LayoutPage, layout_page
from inventory.models import Item
from inventory.queries.items import open_items
from inventory.queries.orders import OnOrder, on_order
from inventory.queries.reservations import Kept, reservations_open, stock_of
from inventory.services.reservations import release, reserve
from tanks.models import MaterialLine, MaterialPart, Secured
from tanks.queries.layouts import materials_of
from tanks.queries.needs import Cost, Needed, cost_of, glass_of, needs_of
from tanks.science.materials import base_cm2, lower_by_mm, share_cm2
from tanks.services.materials import drop_material, keep_reservation

BUDGET_SLACK_PERCENT = 10
"""A build may cost so much more than its budget before somebody is asked (common practice)."""


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


@dataclass(frozen=True, slots=True)
class Area:
    """A share of the ground: a plant line seen from above."""

    part: str
    what: str
    percent: int
    cm2: float


@dataclass(frozen=True, slots=True)
class MaterialsPage:
    """Everything that the page shows."""

    page: LayoutPage
    lines: list[Line]
    cost: Cost
    currency: str
    areas: list[Area]
    base_cm2: float
    inner_cm: tuple[float, float]
    lower_mm: int | None
    items: dict[str, Item]
    needed_on: date | None

    @property
    def things(self) -> list[Line]:
        """Lines that are something to be had."""
        return [line for line in self.lines if line.row.is_thing]

    @property
    def ground_mm(self) -> list[tuple[int, int]]:
        """Depth in front and behind of each layer on the list [mm]."""
        return [
            (line.row.line.front_mm or 0, line.row.line.back_mm or 0)
            for line in self.things
            if line.row.line.part == MaterialPart.GROUND
        ]

    @property
    def sums(self) -> list[Line]:
        """Hours, fee, what comes back, what it would cost at home."""
        return [line for line in self.lines if not line.row.is_thing]

    @property
    def budget(self) -> Money | None:
        """What the brief allows."""
        layout = self.page.layout
        brief = layout.brief if layout is not None else None
        if brief is None or brief.budget_cents is None:
            return None
        return Money(brief.budget_cents, self.currency)

    @property
    def is_over(self) -> bool:
        """More than the budget and a tenth of it?"""
        budget = self.budget
        allowed = 100 + BUDGET_SLACK_PERCENT
        return budget is not None and self.cost.total * 100 > budget.cents * allowed

    def count(self, state: str) -> int:
        """How many things stand so."""
        return sum(1 for line in self.things if line.state == state)

    @property
    def total(self) -> Money:
        """Materials, hours, fee and first weeks of care."""
        return Money(self.cost.total, self.currency)

    @property
    def materials_money(self) -> Money:
        """The materials by plan."""
        return Money(self.cost.materials, self.currency)

    @property
    def actual_money(self) -> Money | None:
        """What the materials came to; None before building day."""
        cents = self.cost.materials_actual
        return None if cents is None else Money(cents, self.currency)

    def line(self, uid: str) -> Line:
        """The line of that name. Raises Refused."""
        for one in self.lines:
            if str(one.row.line.uid) == uid:
                return one
        raise Refused(
            "no_line", _("Which line? Nothing was chosen."), {}, _("Press a button beside a line.")
        )


def materials_page(showroom: Showroom, code: str, number: str, at: datetime) -> MaterialsPage:
    """The build of this tank; a constant number of queries.

    Raises
    ------
    Unknown
        when there is no such tank or layout.
    """
    page = layout_page(showroom, code, number, at)
    glass = glass_of(page.now.tank)
    length, width, _height = glass.inside_mm
    rows = needs_of(page.now.tank, materials_of(page.layout)) if page.layout else []
    items = {item.code: item for item in open_items(showroom)}
    areas = [
        Area(row.line.part, row.line.what, share, share_cm2(glass, share))
        for row in rows
        if (share := row.line.share_percent) and row.line.part != MaterialPart.MOSS
    ]
    ground = next((row.line for row in rows if row.line.part == MaterialPart.GROUND), None)
    brief = page.layout.brief if page.layout else None
    return MaterialsPage(
        page=page,
        lines=_lines(showroom, rows, items, at),
        cost=cost_of(rows),
        currency=showroom.currency,
        areas=areas,
        base_cm2=base_cm2(glass),
        inner_cm=(length / 10, width / 10),
        lower_mm=lower_by_mm(glass, ground.front_mm, ground.back_mm, ground.rate or 9_000)
        if ground and ground.front_mm is not None and ground.back_mm is not None
        else None,
        items=items,
        needed_on=brief.target_show_on if brief else None,
    )


def _lines(
    showroom: Showroom, rows: list[Needed], items: dict[str, Item], at: datetime
) -> list[Line]:
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


@transaction.atomic
def reserve_line(
    page: MaterialsPage,
    uid: str,
    needed_on: date | None,
    *,
    only_in_stock: bool,
    by: Membership,
    at: datetime,
) -> str:
    """Keep in the store what a line needs; with ``only_in_stock`` no more than is free there.

    What was set aside for this tank before, and no line names yet, is taken first.

    Raises
    ------
    Refused
        as the reservation does; ``kept_already`` names who has it.
    """
    one = page.line(uid)
    if one.item is None:
        raise Refused(
            "not_of_the_store",
            _("%(what)s: no item of the store is named.") % {"what": one.row.line.what},
            {},
            _("Name one at the line first, or say where it comes from."),
        )
    if needed_on is None:
        raise Refused(
            "day_missing",
            _("Needed on: which day?"),
            {"needed_on": _("Today or later, such as 2026-04-03.")},
        )
    amount = amount_of(one.row, one.item)
    if one.loose is not None and one.loose.amount.base >= amount.base:
        uid_of_it = one.loose.reservation.uid
        keep_reservation(line=one.row.line, reservation=uid_of_it, by=by, at=at)
        return _("%(what)s: taken from what was kept for this tank already.") % {
            "what": one.row.line.what
        }
    row = reserve(
        item=one.item,
        amount=amount,
        needed_on=needed_on,
        for_what=f"{page.page.now.code}, {one.row.line.what}"[:120],
        tank=page.page.now.tank,
        only_in_stock=only_in_stock,
        by=by,
        at=at,
    )
    keep_reservation(line=one.row.line, reservation=row.uid, by=by, at=at)
    return _("%(what)s: kept.") % {"what": one.row.line.what}


@transaction.atomic
def free_line(page: MaterialsPage, uid: str, *, by: Membership, at: datetime) -> str:
    """What was kept for a line is free again."""
    one = page.line(uid)
    if one.kept is not None:
        release(reservation=one.kept.reservation, by=by, at=at)
    keep_reservation(line=one.row.line, reservation=None, by=by, at=at)
    return _("%(what)s: free again.") % {"what": one.row.line.what}


@transaction.atomic
def drop_line(page: MaterialsPage, uid: str, *, by: Membership, at: datetime) -> str:
    """A line that is not needed, with what was kept for it."""
    one = page.line(uid)
    if one.row.line.reservation is not None:
        free_line(page, uid, by=by, at=at)
    drop_material(line=one.row.line, by=by, at=at)
    return _("%(what)s is off the list.") % {"what": one.row.line.what}


def amount_of(row: Needed, item: Item) -> Quantity:
    """What a line needs, as the store counts that item.

    Raises
    ------
    Refused
        when the two are not counted alike.
    """
    need, rate = row.need, row.line.rate
    if item.dimension == "piece":
        return quantity("piece", need.count)
    if item.dimension == "mass" and need.unit == "g":
        return quantity("mass", need.count * 1_000)
    if item.dimension == "volume" and need.unit == "bag":
        return quantity("volume", need.count * (rate or 9_000) * 1_000)
    raise Refused(
        "other_dimension",
        _("%(item)s is not counted in %(unit)s.") % {"item": item.name, "unit": f"{need.unit}s"},
        {},
        _("Choose another item of the store for this line."),
    )


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


def lede(page: MaterialsPage) -> tuple[str, str]:
    """How many lines are reserved, on order, not agreed; as two sentences."""
    n = len(page.things)
    if not n:
        return _("Nothing is on the list yet."), _("Begin with the ground and the plants.")
    first = ngettext(
        "%(done)d of %(n)d line is reserved.", "%(done)d of %(n)d lines are reserved.", n
    ) % {"done": page.count("reserved"), "n": n}
    rest = [
        (page.count("coming") + page.count("part"), _("%(n)d on the way or on the buy list")),
        (page.count("substitute"), _("%(n)d a substitute that the designer has not agreed to")),
        (page.count("short"), _("%(n)d not to be had")),
        (page.count("open"), _("%(n)d still open")),
    ]
    words = ", ".join(text % {"n": count} for count, text in rest if count)
    return first, f"{words[0].upper()}{words[1:]}." if words else _("Nothing is missing.")


def counted(page: MaterialsPage) -> list[UUID]:
    """The lines that are counted on building day."""
    return [line.row.line.uid for line in page.things]
