"""How much of the ammonia that a kit shows is the kind that burns gills?

A kit shows ammonia and ammonium together. The un-ionised part grows about tenfold with each unit of
pH, so what counts is the highest pH of the night, not the pH at the test.
"""

from __future__ import annotations

import numpy as np

from gallery_ops.kernel.values.limits import Limit, OutOfRange
from tanks.science.numbers import KELVIN, N, not_negative, ten_to, within
from tanks.science.salts import molar_mass_g

PH = Limit(5, 10)
DEGC = Limit(0, 40, "°C")

EMERSON_SLOPE_K = 2729.92
"""Not 2727.92, which one manual prints and some codes repeat: that is off by 1.3 to 1.7 %."""

BASES = {"N": molar_mass_g("N"), "NH3": molar_mass_g("NH3"), "NH4": molar_mass_g("NH4")}
"""What a kit may count it as: nitrogen, ammonia or ammonium [g/mol]."""


def pka(degc: N) -> N:
    """pKa of ammonium in fresh water, 0 to 40 °C.

    Source: Emerson, Russo, Lund & Thurston, J. Fish. Res. Board Can. 32:2379 (1975), seen through
    others who quote it.

    >>> round(pka(25.0), 4)
    9.2464
    """
    within("Temperature", DEGC, degc)
    return 0.09018 + EMERSON_SLOPE_K / (degc + KELVIN)


def unionised_part(ph: N, degc: N) -> N:
    """Part of all ammonia that is un-ionised, 0 to 1.

    >>> round(unionised_part(7.0, 25.0), 4), round(unionised_part(8.0, 25.0), 4)
    (0.0056, 0.0537)
    """
    within("pH", PH, ph, "Set the meter, and measure again.")
    return 1 / (1 + ten_to(pka(degc) - ph))


def as_nitrogen(mg_per_l: N, basis: str) -> N:
    """A figure as nitrogen [mg/L as N], from what the kit counts it as.

    basis : "N", "NH3" or "NH4"; the kit's paper says which

    >>> round(as_nitrogen(1.0, "NH4"), 4)
    0.7765
    """
    not_negative("Ammonia", "mg/L", mg_per_l)
    if basis not in BASES:
        raise OutOfRange("Counted as", ", ".join(BASES), basis, "It stands on the kit's paper.")
    return mg_per_l * (BASES["N"] / BASES[basis])


def unionised_n_mg_per_l(total_n_mg_per_l: N, ph: N, degc: N) -> N:
    """Un-ionised ammonia [mg/L as N], from all of it as N.

    >>> round(unionised_n_mg_per_l(0.5, 7.6, 25.0), 4)
    0.011
    """
    not_negative("Ammonia", "mg/L as N", total_n_mg_per_l)
    return total_n_mg_per_l * unionised_part(ph, degc)


def wild_water_acute_mg_n_per_l(ph: float, degc: float) -> float:
    """Limit of one agency for wild waters with salmon, one hour in three years [mg/L all as N].

    It has no meaning for keeping or for law here; it shows how pH and warmth count.

    Source: US EPA 822-R-13-001 (2013), the formula as state agencies code it.
    """
    within("pH", PH, ph)
    within("Temperature", DEGC, degc)
    rise, fall = float(10 ** (7.204 - ph)), float(10 ** (ph - 7.204))
    salmon = 0.275 / (1 + rise) + 39.0 / (1 + fall)
    mussels = 0.0114 / (1 + rise) + 1.6181 / (1 + fall)
    return min(salmon, 0.7249 * mussels * 23.12 * float(10 ** (0.036 * (20 - degc))))


def wild_water_chronic_mg_n_per_l(ph: float, degc: float) -> float:
    """The same agency's limit for thirty days [mg/L all as N]; source as above."""
    within("pH", PH, ph)
    within("Temperature", DEGC, degc)
    part = 0.0278 / (1 + float(10 ** (7.688 - ph))) + 1.1994 / (1 + float(10 ** (ph - 7.688)))
    return 0.8876 * part * 2.126 * float(10 ** (0.028 * (20 - float(np.maximum(degc, 7)))))
