"""How much does a build need, and why so much? Plants by area, ground by its depth, in words.

Plants follow covered area, never the litres of a tank. Each answer carries its sum in words, so
that whoever buys can follow it. Rates are common practice without a source; they are kept with each
line and may be changed there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil, floor

from gallery_ops.kernel.values.limits import Limit
from tanks.science.filling import Glass, bed_l
from tanks.science.numbers import above_zero, not_negative, within

SPARE_PERCENT = 10
"""What spoils or breaks, of all plants (common practice, no source)."""

LONGEST_SHARE = (2, 3)
"""The longest piece of wood or stone, of the length of the tank (common practice, no source)."""

USUAL_RATES: Mapping[str, int] = {
    "carpet": 120,
    "middle": 60,
    "stems": 6,
    "moss": 100,
    "epiphyte": 4,
    "ground": 9_000,
    "stone": 180,
    "glue": 25,
}
"""By part of a build: cm2 a cup, cm2 a pot, cm2 a stem, cm2 a cup, pieces a pot, mL a bag, g of
stone a litre of outer volume, pieces a tube (common practice, no source: a cup covers 100 to 150
cm2, a stem 4 cm2 when dense and 6 when loose, a pot of epiphytes 3 to 5 pieces, stone 10 to 20 kg
per 100 L, a tube 25 to 40 pieces). What a rate must be for this gallery stands with each line."""

SHARE = Limit(1, 100, "%")
MOST = 100_000


@dataclass(frozen=True, slots=True)
class Need:
    """So many, in ``unit`` (the word for one of them), because of ``why``."""

    count: int
    unit: str
    why: str


def base_cm2(glass: Glass) -> float:
    """The ground between the panes [cm2].

    Source: geometry.

    >>> round(base_cm2(Glass(600, 300, 360, 6)))
    1693
    """
    length_mm, width_mm, _ = glass.inside_mm
    return length_mm * width_mm / 100


def share_cm2(glass: Glass, share_percent: int) -> float:
    """A share of the ground [cm2].

    >>> round(share_cm2(Glass(600, 300, 360, 6), 40))
    677
    """
    within("Share of the ground", SHARE, share_percent)
    return base_cm2(glass) * share_percent / 100


def cover(area_cm2: float, cm2_each: int, unit: str) -> Need:
    """Cups or pots that cover an area, rounded up.

    >>> cover(677.4, 120, "cup")
    Need(count=6, unit='cup', why='677 cm² ÷ 120 a cup = 5.6')
    """
    _known_area(area_cm2, cm2_each, unit)
    exact = area_cm2 / cm2_each
    return Need(_up(exact), unit, f"{area_cm2:,.0f} cm² ÷ {cm2_each} a {unit} = {exact:.1f}")


def stems(area_cm2: float, cm2_each: int, stems_a_pot: int) -> Need:
    """Pots of stems, each stem a cutting of 5 to 8 cm; stems and pots both rounded up.

    >>> stems(423.4, 6, 10).count
    8
    """
    _known_area(area_cm2, cm2_each, "stem")
    above_zero("Stems in a pot", "", stems_a_pot)
    pieces = _up(area_cm2 / cm2_each)
    why = f"{area_cm2:,.0f} cm² ÷ {cm2_each} a stem = {pieces}, {stems_a_pot} a pot"
    return Need(_up(pieces / stems_a_pot), "pot", why)


def in_packs(pieces: int, pieces_each: int, unit: str) -> Need:
    """Pots or tubes that so many pieces need, rounded up.

    >>> in_packs(20, 25, "tube").count
    1
    """
    not_negative("Pieces", "", pieces)
    above_zero(f"Pieces a {unit}", "", pieces_each)
    return Need(_up(pieces / pieces_each), unit, f"{pieces} pieces, {pieces_each} a {unit}")


def spare(plants: int, percent: int = SPARE_PERCENT) -> Need:
    """What is bought beyond the sum because some will not live, rounded up.

    >>> spare(20)
    Need(count=2, unit='pot', why='10 % of 20, so 2 more')
    """
    not_negative("Plants", "", plants)
    within("Spoilage", SHARE, percent)
    count = -(-plants * percent // 100)
    return Need(count, "pot", f"{percent} % of {plants:,}, so {count:,} more")


def ground(glass: Glass, front_mm: int, back_mm: int, ml_each: int) -> Need:
    """Bags of ground that rises evenly from front to back, rounded up; never rounded down.

    >>> ground(Glass(600, 300, 360, 6), 30, 80, 9_000)
    Need(count=2, unit='bag', why='58.8 × 28.8 × 5.5 cm = 9.3 L, 9 L a bag')
    """
    litres = bed_l(glass, front_mm, back_mm)
    above_zero("A bag", "mL", ml_each)
    length_mm, width_mm, _ = glass.inside_mm
    mean_cm = (front_mm + back_mm) / 20
    sides = f"{length_mm / 10:g} × {width_mm / 10:g} × {mean_cm:g} cm"
    why = f"{sides} = {litres:.1f} L, {ml_each / 1_000:g} L a bag"
    return Need(_up(litres * 1_000 / ml_each), "bag", why)


def lower_by_mm(glass: Glass, front_mm: int, back_mm: int, ml_each: int) -> int | None:
    """By how much less mean depth one bag fewer would do [mm]; None above a tenth of the depth.

    >>> lower_by_mm(Glass(600, 300, 360, 6), 30, 80, 9_000)
    2
    """
    litres = bed_l(glass, front_mm, back_mm)
    above_zero("A bag", "mL", ml_each)
    bags = floor(litres * 1_000 / ml_each)
    over_l = litres - bags * ml_each / 1_000
    if bags == 0 or over_l <= 0:
        return None
    length_mm, width_mm, _ = glass.inside_mm
    less_mm = ceil(over_l * 1_000_000 / (length_mm * width_mm))
    return less_mm if less_mm * 20 <= front_mm + back_mm else None


def stone(outer_l: float, g_each_l: int) -> Need:
    """Stone by the outer volume [g].

    >>> stone(64.8, 180)
    Need(count=11664, unit='g', why='64.8 L × 18 kg a 100 L = 11.7 kg')
    """
    above_zero("Outer volume", "L", outer_l)
    above_zero("Stone a litre", "g", g_each_l)
    grams = round(outer_l * g_each_l)
    why = f"{outer_l:g} L × {g_each_l / 10:g} kg a 100 L = {grams / 1_000:.1f} kg"
    return Need(grams, "g", why)


def longest_piece_mm(length_mm: int) -> int:
    """The longest piece of wood or stone that suits this tank [mm].

    >>> longest_piece_mm(600)
    400
    """
    above_zero("Length", "mm", length_mm)
    part, whole = LONGEST_SHARE
    return length_mm * part // whole


def cost_cents(count: int, unit: str, each_cents: int) -> int:
    """What so many cost [minor units]; grams by the kilogram, minutes by the hour, half up.

    >>> cost_cents(11_400, "g", 320)
    3648
    """
    not_negative("Count", "", count)
    not_negative("Price", "", each_cents)
    parts = {"g": 1_000, "min": 60}.get(unit, 1)
    return (count * each_cents * 2 + parts) // (2 * parts)


def _known_area(area_cm2: float, cm2_each: int, unit: str) -> None:
    above_zero("Area", "cm²", area_cm2)
    above_zero(f"Area a {unit}", "cm²", cm2_each)


def _up(exact: float) -> int:
    """Rounded up, but not for the dust of a division."""
    return ceil(round(exact, 6))
