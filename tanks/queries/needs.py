"""How much does each line of a build need, and why so much?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tanks.models import MaterialLine, MaterialPart, Tank
from tanks.science import materials
from tanks.science.filling import Glass
from tanks.science.materials import Need

PLANTS = (
    MaterialPart.CARPET,
    MaterialPart.MIDDLE,
    MaterialPart.STEMS,
    MaterialPart.MOSS,
    MaterialPart.EPIPHYTE,
)
MONEY = (
    MaterialPart.WORK,
    MaterialPart.FEE,
    MaterialPart.CARE,
    MaterialPart.BACK,
    MaterialPart.HOME,
)
"""Lines that are money or hours, not things."""
STEMS_A_POT = 10
CUPS = (MaterialPart.CARPET, MaterialPart.MOSS)


@dataclass(frozen=True, slots=True)
class Needed:
    """One line with its sum; planned and actual cost in minor units where a price is known."""

    line: MaterialLine
    need: Need

    @property
    def is_thing(self) -> bool:
        """Something to be had, not hours or a fee?"""
        return self.line.part not in MONEY

    @property
    def plan_cents(self) -> int | None:
        """What it costs by plan."""
        if self.line.unit_cents is None:
            return None
        return materials.cost_cents(self.need.count, self.need.unit, self.line.unit_cents)

    @property
    def actual_cents(self) -> int | None:
        """What it cost: as written down, else what was counted at the planned price."""
        line = self.line
        if line.actual_cents is not None:
            return line.actual_cents
        if line.actual_count is None or line.unit_cents is None:
            return None
        return materials.cost_cents(line.actual_count, self.need.unit, line.unit_cents)

    @property
    def delta(self) -> int | None:
        """Counted on building day less planned; None before it."""
        if self.line.actual_count is None:
            return None
        return self.line.actual_count - self.need.count


@dataclass(frozen=True, slots=True)
class Cost:
    """Sums of a build in minor units; ``actual`` None before anything was counted."""

    materials: int
    work: int
    fee: int
    care: int
    back: int
    home: int
    materials_actual: int | None
    unpriced: int

    @property
    def total(self) -> int:
        """Materials, hours, fee and the first six weeks."""
        return self.materials + self.work + self.fee + self.care


def glass_of(tank: Tank) -> Glass:
    """The panes of a tank as the science room takes them."""
    return Glass(tank.length_mm, tank.width_mm, tank.height_mm, tank.glass_mm)


def needs_of(tank: Tank, lines: Iterable[MaterialLine]) -> list[Needed]:
    """Each line with its sum, in their order; spoilage and glue look at the lines before them."""
    glass = glass_of(tank)
    outer_l = tank.length_mm * tank.width_mm * tank.height_mm / 1e6
    found: list[Needed] = []
    for line in lines:
        plants = sum(one.need.count for one in found if one.line.part in PLANTS)
        pieces = sum(
            one.line.said_count or 0 for one in found if one.line.part == MaterialPart.EPIPHYTE
        )
        found.append(Needed(line, _need(line, glass, outer_l, plants, pieces)))
    return found


def cost_of(rows: Iterable[Needed]) -> Cost:
    """The sums of a build."""
    rows = list(rows)
    things = [row for row in rows if row.is_thing]
    actual = [row.actual_cents for row in things if row.line.actual_count is not None]

    def of(part: str) -> int:
        return sum(row.plan_cents or 0 for row in rows if row.line.part == part)

    return Cost(
        materials=sum(row.plan_cents or 0 for row in things),
        work=of(MaterialPart.WORK),
        fee=of(MaterialPart.FEE),
        care=of(MaterialPart.CARE),
        back=of(MaterialPart.BACK),
        home=of(MaterialPart.HOME),
        materials_actual=sum(cents or 0 for cents in actual) if actual else None,
        unpriced=sum(1 for row in things if row.plan_cents is None),
    )


def _need(line: MaterialLine, glass: Glass, outer_l: float, plants: int, pieces: int) -> Need:
    part = line.part
    rate = line.rate or materials.USUAL_RATES.get(part, 1)
    if part == MaterialPart.EPIPHYTE:
        return materials.in_packs(line.said_count or 0, rate, "pot")
    if part == MaterialPart.GLUE:
        return materials.in_packs(line.said_count or pieces, rate, "tube")
    worked_out = _worked_out(line, glass, outer_l, plants, rate)
    if worked_out is None:
        return _said(line, glass)
    if line.said_count is None:
        return worked_out
    return Need(line.said_count, worked_out.unit, f"said by hand; worked out: {worked_out.why}")


def _worked_out(
    line: MaterialLine, glass: Glass, outer_l: float, plants: int, rate: int
) -> Need | None:
    part = line.part
    if part == MaterialPart.SPARE:
        return materials.spare(plants, line.rate or materials.SPARE_PERCENT)
    if part == MaterialPart.STONE:
        return materials.stone(outer_l, rate)
    if part == MaterialPart.GROUND:
        return materials.ground(glass, line.front_mm or 0, line.back_mm or 0, rate)
    if part not in PLANTS or not line.share_percent:
        return None
    area = materials.share_cm2(glass, line.share_percent)
    if part == MaterialPart.STEMS:
        return materials.stems(area, rate, line.per_pack or STEMS_A_POT)
    return materials.cover(area, rate, "cup" if part in CUPS else "pot")


def _said(line: MaterialLine, glass: Glass) -> Need:
    count = 1 if line.said_count is None else line.said_count
    if line.part in (MaterialPart.WORK, MaterialPart.CARE):
        return Need(count, "min", f"{count / 60:g} hours")
    if line.part == MaterialPart.WOOD:
        longest = materials.longest_piece_mm(round(glass.length_mm)) / 10
        return Need(count, "piece", f"longest piece under 2/3 of the length, {longest:g} cm")
    unit = "cup" if line.part in CUPS else "pot" if line.part in PLANTS else "piece"
    return Need(count, unit, "said by hand")
