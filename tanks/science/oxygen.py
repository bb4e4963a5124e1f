"""How much oxygen does fresh water hold in balance with the air above it?

More than that is normal by day among plants that grow well, and is not refused.
"""

from __future__ import annotations

from decimal import Decimal

from gallery_ops.kernel.values.limits import Limit
from tanks.science.numbers import KELVIN, USUAL_KPA, N, exp, not_negative, ten_to, within

DEGC = Limit(0, 40, "°C")
KPA = Limit(Decimal("50.6"), Decimal("111.5"), "kPa")
MMHG_PER_KPA = 760 / 101.325


def saturation_mg_per_l(degc: N, kpa: float = USUAL_KPA) -> N:
    """Oxygen in fresh water in balance with moist air [mg/L].

    Parameters
    ----------
    degc : 0 to 40 [°C]
    kpa : air pressure where the tank stands, not reduced to the sea, 50.6 to 111.5 [kPa]

    Source: Benson & Krause (1980, 1984) in the form of USGS and APHA, pressure as in USGS QW
    81.11; the vapour pressure of that form is from memory. All seen through others.

    >>> round(saturation_mg_per_l(25.0), 2)
    8.26
    """
    within("Temperature", DEGC, degc)
    within("Air pressure", KPA, kpa, "Where it stands, not reduced to the sea.")
    kelvin = degc + KELVIN
    at_sea = exp(
        -139.34411
        + 1.575701e5 / kelvin
        - 6.642308e7 / (kelvin * kelvin)
        + 1.243800e10 / (kelvin * kelvin * kelvin)
        - 8.621949e11 / (kelvin * kelvin * kelvin * kelvin)
    )
    vapour = ten_to(8.10765 - 1750.286 / (degc + 235.0))
    return at_sea * (kpa * MMHG_PER_KPA - vapour) / (760.0 - vapour)


def percent_of_saturation(mg_per_l: N, degc: N, kpa: float = USUAL_KPA) -> N:
    """What was measured, as part of the balance with air [%]; over 100 by day is normal.

    >>> round(percent_of_saturation(9.5, 20.0), 1)
    104.5
    """
    not_negative("Oxygen", "mg/L", mg_per_l)
    return 100.0 * mg_per_l / saturation_mg_per_l(degc, kpa)
