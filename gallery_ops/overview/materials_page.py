"""What a build needs and where it comes from: lines of the layout, and what the store keeps."""

from __future__ import annotations

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
from gallery_ops.overview.material_state import Line, lines_of
from inventory.models import Item
from inventory.queries.items import open_items
from inventory.services.reservations import release, reserve
from tanks.models import MaterialPart
from tanks.queries.layouts import materials_of
from tanks.queries.needs import Cost, Needed, cost_of, glass_of, needs_of
from tanks.science.materials import base_cm2, lower_by_mm, share_cm2
from tanks.services.materials import drop_material, keep_reservation

BUDGET_SLACK_PERCENT = 10
"""A build may cost so much more than its budget before somebody is asked (common practice)."""


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
        lines=lines_of(showroom, rows, items, at),
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
