"""Conductivity at 25 °C, for meters that do not work it out themselves.

A meter that shows a value "at 25 °C" has done this already: never twice.
"""

from __future__ import annotations

from decimal import Decimal

import numpy as np

from gallery_ops.kernel.values.limits import Limit
from tanks.science.numbers import Array, N, not_negative, within

DEGC = Limit(0, 35, "°C")
TDS_FACTOR = Limit(Decimal("0.4"), Decimal("1.0"))
ALPHA = Limit(Decimal("0.5"), 3, "% per °C")

_TABLE = (
    (0, 1.918), (1, 1.857), (5, 1.643), (8, 1.508), (10, 1.428), (12, 1.354), (15, 1.256),
    (18, 1.168), (20, 1.116), (22, 1.067), (24, 1.021), (25, 1.000), (26, 0.979), (28, 0.940),
    (30, 0.903), (32, 0.869), (34, 0.837), (35, 0.822),
)  # fmt: skip
"""Temperature [°C] and factor to 25 °C: ISO 7888:1985 (EN 27888:1993), as an instrument manual
prints the table; a straight line between these rows is off by 0.005 at most."""
_DEGC, _FACTORS = (np.array(column, float) for column in zip(*_TABLE, strict=True))


def natural_water_factor(degc: N) -> N:
    """What a reading in natural water is multiplied by to stand for 25 °C, 0 to 35 °C.

    Source: ISO 7888:1985. A calcium bicarbonate water may differ from it by 0.01.

    >>> round(natural_water_factor(20.0), 3)
    1.116
    """
    within("Temperature", DEGC, degc, "Measure again at room temperature.")
    if isinstance(degc, np.ndarray):
        factors: Array = np.interp(degc, _DEGC, _FACTORS)
        return factors
    return float(np.interp(degc, _DEGC, _FACTORS))


def natural_water_us_cm(us_cm: N, degc: N) -> N:
    """Conductivity at 25 °C of natural water [uS/cm], from a meter that shows it uncorrected."""
    not_negative("Conductivity", "µS/cm", us_cm)
    return us_cm * natural_water_factor(degc)


def linear_us_cm(us_cm: N, degc: N, percent_per_degc: float = 1.91) -> N:
    """Conductivity at 25 °C by a straight line [uS/cm], as many meters do it.

    percent_per_degc : 1.91 or 2.0 in most manuals

    Source: k25 = k / (1 + a (t - 25) / 100), manuals of instruments.
    """
    not_negative("Conductivity", "µS/cm", us_cm)
    within("Temperature", DEGC, degc)
    within("Slope", ALPHA, percent_per_degc, "1.91 and 2.0 are usual.")
    return us_cm / (1 + percent_per_degc / 100 * (degc - 25))


def dissolved_mg_per_l(us_cm_at_25: float, factor: float) -> float:
    """Dissolved matter as a meter estimates it [mg/L]: never without its factor.

    factor : 0.4 to 1.0; natural waters mostly 0.55 to 0.75, meters 0.5, 0.64 or 0.7

    Source: common practice; a water laboratory's page for natural waters.
    """
    not_negative("Conductivity", "µS/cm", us_cm_at_25)
    within("Factor", TDS_FACTOR, factor, "Read it in the manual of the meter.")
    return us_cm_at_25 * factor
