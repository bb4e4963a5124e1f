"""Grams by bubbles: a sense check, never the truth about a cylinder.

The mass goes with the cube of the diameter, which nobody measures: 3 mm against 4 mm is a factor of
2.4. What is left is weighed.
"""

from __future__ import annotations

from decimal import Decimal
from math import pi

from gallery_ops.kernel.values.limits import Limit
from tanks.science.gas_state import gas_kg_per_m3
from tanks.science.numbers import USUAL_KPA, not_negative, within

BUBBLE_MM = Limit(Decimal("0.5"), 10, "mm")
HOURS = Limit(0, 24, "h")


def gas_litres(mass_kg: float, degc: float = 20.0, kpa: float = USUAL_KPA) -> float:
    """Litres of gas from so much CO2 [L].

    Source: mass / density of the real gas.

    >>> round(gas_litres(1.0), 1)
    543.7
    """
    not_negative("Gas", "kg", mass_kg, "Weigh the cylinder.")
    return mass_kg / gas_kg_per_m3(degc, kpa) * 1_000


def bubbles_g_per_day(
    bubbles_per_s: float,
    diameter_mm: float,
    hours_per_day: float,
    degc: float = 20.0,
    kpa: float = USUAL_KPA,
) -> float:
    """Gas in a day of counted bubbles [g/d].

    diameter_mm : 3 to 4 is said to be usual (common practice, no source)

    Source: spheres of gas at air pressure.

    >>> round(bubbles_g_per_day(1, 3.5, 8, 25), 2)
    1.17
    """
    not_negative("Bubbles", "per second", bubbles_per_s, "Count for a minute.")
    within("Diameter", BUBBLE_MM, diameter_mm)
    within("Hours", HOURS, hours_per_day)
    ml = pi / 6 * (diameter_mm / 10) ** 3
    return bubbles_per_s * 3_600 * hours_per_day * ml * gas_kg_per_m3(degc, kpa) / 1_000
