"""What does a filled tank weigh, and what does its floor bear?

A number, never a permission: what a floor carries depends on its beams, on where they run and on
what else stands there. Ask a structural engineer.
"""

from __future__ import annotations

from dataclasses import dataclass

from gallery_ops.kernel.values.limits import Limit
from tanks.science.filling import Glass
from tanks.science.numbers import N, above_zero, not_negative, within

GLASS_KG_PER_M3 = 2_500.0
"""Soda-lime float glass: EN 572-1, as quoted on a maker's sheet of properties."""

DRY_BED_KG_PER_M3 = 1_500.0
"""Dry sand or gravel, heaped (from memory); soil is lighter."""

GRAVITY_M_PER_S2 = 9.80665
"""Standard gravity, CGPM 1901."""

ASK = "Ask a structural engineer."
WATER_DEGC = Limit(0, 40, "°C")


@dataclass(frozen=True, slots=True)
class FloorLoad:
    """A filled tank on its footprint: mass [kg], even pressure [kPa], and who must be asked."""

    mass_kg: float
    pressure_kpa: float
    words: str = ASK


def water_kg_per_m3(degc: N) -> N:
    """Density of pure water at normal air pressure, 0 to 40 °C [kg/m3].

    Source: Tanaka et al., Metrologia 38:301 (2001), coefficients from memory, held against IAPWS-95
    and TEOS-10 in the tests (0.02 kg/m3).

    >>> round(water_kg_per_m3(25.0), 2)
    997.05
    """
    within("Temperature", WATER_DEGC, degc)
    from_most = degc - 3.983035
    part = from_most * from_most * (degc + 301.797) / (522_528.9 * (degc + 69.34881))
    return 999.97495 * (1 - part)


def glass_kg(glass: Glass) -> float:
    """Mass of the five panes, silicone and braces left out [kg].

    Source: 2,500 kg/m3 x (outer - inner volume).

    >>> round(glass_kg(Glass(600, 300, 360, 6)), 1)
    12.1
    """
    outer_l = glass.length_mm * glass.width_mm * glass.height_mm / 1e6
    return GLASS_KG_PER_M3 * (outer_l - glass.inner_l) / 1_000


def filled_kg(
    glass: Glass,
    water_l: float,
    bed_l: float,
    stone_kg: float = 0.0,
    stand_kg: float = 0.0,
    degc: float = 25.0,
    bed_kg_per_m3: float = DRY_BED_KG_PER_M3,
) -> float:
    """Glass, water, dry ground, stone and stand [kg].

    water_l : net water, that between the grains included
    bed_l : bulk volume of the ground

    Source: sum of masses.
    """
    not_negative("Water", "L", water_l)
    not_negative("Ground", "L", bed_l)
    not_negative("Stone", "kg", stone_kg, "Weigh it.")
    not_negative("Stand", "kg", stand_kg, "Weigh it.")
    above_zero("Density of the ground", "kg/m³", bed_kg_per_m3)
    water_kg = water_l * water_kg_per_m3(degc) / 1_000
    return glass_kg(glass) + water_kg + bed_l * bed_kg_per_m3 / 1_000 + stone_kg + stand_kg


def floor_load(mass_kg: float, footprint_m2: float) -> FloorLoad:
    """Pressure under a tank that stands flat on its whole footprint [kPa, the same as kN/m2].

    On feet it is many times that under each foot. Not to be compared with the even load that a
    code names for a kind of room: a heavy single thing is outside those figures.

    Source: mass x 9.80665 / area.

    >>> round(floor_load(99.8, 0.18).pressure_kpa, 2)
    5.44
    """
    not_negative("Mass", "kg", mass_kg)
    above_zero("Footprint", "m²", footprint_m2, "Length times width of what stands on the floor.")
    return FloorLoad(mass_kg, mass_kg * GRAVITY_M_PER_S2 / footprint_m2 / 1_000)
