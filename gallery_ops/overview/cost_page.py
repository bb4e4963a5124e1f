"""What does a day on show cost, layout by layout, and what does an empty glass wait for?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from statistics import median_low

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.money import Money
from inventory.queries.used_at_cost import Used, used_at_cost
from maintenance.queries.minutes_given import Given, minutes_given
from tanks.queries.show_days import Build, builds_of, days_on_show
from tanks.queries.tanks import TankNow, fleet
from tanks.science.show_cost import day_cents, whole_cents


@dataclass(frozen=True, slots=True)
class CostRow:
    """One layout. None where nothing is known; ``missing`` says what is not in the sum."""

    now: TankNow
    show_days: int
    build: Money | None
    build_is_actual: bool
    hours: Decimal
    work: Money | None
    used: Money
    total: Money
    per_day: Money | None
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EmptyRow:
    """A glass without a layout: its clock, and what so many show-days cost elsewhere."""

    now: TankNow
    days: int | None
    worth: Money | None


@dataclass(frozen=True, slots=True)
class CostPage:
    """The fleet by cost of a day; ``usual`` is the middle of the rows that nothing is missing in,
    ``of`` how many these are."""

    on: date
    rows: list[CostRow]
    not_shown: list[CostRow]
    empty: list[EmptyRow]
    usual: Money | None
    of: int


def cost_page(showroom: Showroom, at: datetime) -> CostPage:
    """Every tank; the same number of queries for 20 as for 2,000."""
    tanks = fleet(showroom, at)
    layouts = [row.layout for row in tanks if row.layout is not None]
    by_tank = {row.tank.pk: row.tank for row in tanks}
    for layout in layouts:
        layout.tank = by_tank[layout.tank_id]
    shown = days_on_show(showroom, layouts, at)
    builds = builds_of(showroom, layouts)
    given, used = minutes_given(showroom, at), used_at_cost(showroom, at)
    rows = [
        _row(
            showroom,
            now,
            shown[now.layout.pk],
            builds.get(now.layout.pk),
            given.get(now.tank.pk, Given()),
            used.get(now.tank.pk, Used()),
        )
        for now in tanks
        if now.layout is not None
    ]
    known = [one.per_day.cents for one in rows if one.per_day is not None and not one.missing]
    usual = Money(median_low(known), showroom.currency) if known else None
    return CostPage(
        on=business_day(at, showroom.tz, showroom.cut_off_hour),
        rows=sorted(
            (one for one in rows if one.show_days),
            key=lambda one: -(one.per_day.cents if one.per_day is not None else 0),
        ),
        not_shown=[one for one in rows if not one.show_days],
        empty=[_empty(now, usual) for now in tanks if now.layout is None],
        usual=usual,
        of=len(known),
    )


def _row(
    showroom: Showroom, now: TankNow, days: int, build: Build | None, given: Given, used: Used
) -> CostRow:
    currency = showroom.currency
    materials = None if build is None else _build_cents(build)
    rate = None if build is None else build.hour_cents
    work = None if rate is None else Fraction(given.total) * rate / 60
    total = Fraction(materials or 0) + (work or 0) + used.cents
    per_day = day_cents(total, days)
    return CostRow(
        now=now,
        show_days=days,
        build=None if materials is None else Money(materials, currency),
        build_is_actual=build is not None and build.cost.materials_actual is not None,
        hours=(given.total / 60).quantize(Decimal("0.1")),
        work=None if work is None else Money(whole_cents(work), currency),
        used=Money(whole_cents(used.cents), currency),
        total=Money(whole_cents(total), currency),
        per_day=None if per_day is None else Money(per_day, currency),
        missing=tuple(_missing(build, used)),
    )


def _build_cents(build: Build) -> int:
    """Materials as they came to, else by plan; building hours and fee by plan."""
    cost = build.cost
    materials = cost.materials if cost.materials_actual is None else cost.materials_actual
    return materials + cost.work + cost.fee


def _missing(build: Build | None, used: Used) -> list[str]:
    """What is not in the sum, in words."""
    found = []
    if build is None:
        found.append(_("no list of materials"))
    elif build.cost.unpriced:
        n = build.cost.unpriced
        found.append(
            ngettext("%(n)d line without a price", "%(n)d lines without a price", n) % {"n": n}
        )
    if build is None or build.hour_cents is None:
        found.append(_("no price of an hour"))
    if used.unpriced:
        found.append(_("no price: %(what)s") % {"what": ", ".join(used.unpriced[:4])})
    return found


def _empty(now: TankNow, usual: Money | None) -> EmptyRow:
    days = now.empty_day
    return EmptyRow(now, days, None if usual is None or days is None else usual * days)
