"""What does a scale, and what does a gauge, say of a CO2 cylinder?

A scale says what is left. A gauge shows the pressure of liquid and gas together, which stays the
same until the last liquid is gone; from there on it falls. Nothing here is for filling a cylinder:
the stamp and the filler decide that.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from math import exp

from gallery_ops.kernel.values.limits import Limit, OutOfRange
from tanks.science.numbers import above_zero, not_negative, within

CRITICAL_K = 304.1282
CRITICAL_BAR = 73.773
CRITICAL_KG_PER_M3 = 467.6
KELVIN = 273.15
"""Critical point: Span & Wagner, J. Phys. Chem. Ref. Data 25:1509 (1996)."""

LIQUID_AND_GAS = Limit(-50, Decimal("30.9"), "°C")
FILLING = Limit(0, Decimal("0.8"), "kg/L")

_PRESSURE = ((-7.0602087, 1.0), (1.9391218, 1.5), (-1.6463597, 2.0), (-3.2995634, 4.0))
_LIQUID = ((1.9245108, 0.34), (-0.62385555, 0.5), (-0.32731127, 10 / 6), (0.39245142, 11 / 6))
_VAPOUR = (
    (-1.7074879, 0.34),
    (-0.82274670, 0.5),
    (-4.6008549, 1.0),
    (-10.111178, 7 / 3),
    (-29.742252, 14 / 3),
)
"""Ancillary equations of the same paper (coefficients from memory, held against its table)."""


def saturation_bar(degc: float) -> float:
    """Absolute pressure of a cylinder in which liquid is left, -50 to 30.9 °C [bar].

    >>> round(saturation_bar(20), 1)
    57.3
    """
    kelvin = _kelvin(degc)
    return CRITICAL_BAR * exp(CRITICAL_K / kelvin * _sum(_PRESSURE, kelvin))


def liquid_kg_per_m3(degc: float) -> float:
    """Density of the liquid in it [kg/m3]."""
    kelvin = _kelvin(degc)
    return CRITICAL_KG_PER_M3 * exp(_sum(_LIQUID, kelvin))


def vapour_kg_per_m3(degc: float) -> float:
    """Density of the gas above the liquid [kg/m3]."""
    kelvin = _kelvin(degc)
    return CRITICAL_KG_PER_M3 * exp(_sum(_VAPOUR, kelvin))


def left_when_gauge_falls_kg(water_l: float, degc: float = 20.0) -> float:
    """What is left when the last liquid has boiled away: only below it does a gauge fall [kg].

    water_l : water capacity of the cylinder, > 0 [L]

    >>> round(left_when_gauge_falls_kg(2.67), 2)
    0.52
    """
    above_zero("Water capacity", "L", water_l, "Read it off the stamp.")
    return vapour_kg_per_m3(degc) * water_l / 1_000


def content_kg(gross_kg: float, tare_kg: float) -> float:
    """Gas in a cylinder by weighing [kg]; regulator off, the stamped tare with its valve."""
    not_negative("Gross", "kg", gross_kg, "Weigh it again.")
    not_negative("Tare", "kg", tare_kg, "Read it off the stamp.")
    if gross_kg < tare_kg:
        raise OutOfRange(
            "Gross", f"{tare_kg} kg or more", f"{gross_kg} kg", "Is it this cylinder and this tare?"
        )
    return gross_kg - tare_kg


def days_of_supply(content_g: float, use_g_per_day: float, reserve_g: float = 0.0) -> float:
    """Days until only the reserve is left, at an even use [d].

    >>> days_of_supply(500, 2.5)
    200.0
    """
    above_zero("Use", "g a day", use_g_per_day, "Weigh it twice.")
    not_negative("Content", "g", content_g, "Weigh it again.")
    not_negative("Reserve", "g", reserve_g)
    return max(0.0, content_g - reserve_g) / use_g_per_day


FULLEST_KG_PER_L = 0.68
"""Of a cylinder under US rules, to notice one that holds too much: 49 CFR 173.304a(a)(2). Elsewhere
the stamp says another figure; it is never for filling."""


def mass_at_filling_kg(water_l: float, kg_per_l: float) -> float:
    """What a cylinder holds when so full [kg], to compare a weighing with; never for filling it.

    kg_per_l : the filling that its stamp or the local rule names, 0 to 0.8

    Source: water capacity x filling.

    >>> round(mass_at_filling_kg(10, FULLEST_KG_PER_L), 2)
    6.8
    """
    above_zero("Water capacity", "L", water_l, "Read it off the stamp.")
    within("Filling", FILLING, kg_per_l, "The stamp and the filler decide.")
    return water_l * kg_per_l


def _kelvin(degc: float) -> float:
    within("Temperature", LIQUID_AND_GAS, degc, "Above that there is no liquid.")
    return degc + KELVIN


def _sum(terms: Sequence[tuple[float, float]], kelvin: float) -> float:
    below = 1 - kelvin / CRITICAL_K
    return float(sum(factor * below**power for factor, power in terms))
