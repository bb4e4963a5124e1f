"""How much of the ammonia is un-ionised at the highest pH that must be expected tonight?

The kit shows the sum; how much of it burns gills depends on pH, and pH rises when CO2 is off.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tanks.science.ammonia import unionised_n_mg_per_l

LEVELS_MG_N_PER_L = (("emergency", 0.05), ("act", 0.02), ("watch", 0.0125))
"""Un-ionised ammonia from which on something is due [mg/L as N], worst first.

0.0125 is a figure commonly accepted by fish culturists, whose review also says that the true limit
is unknown (from memory of it); 0.02 and 0.05 are common practice, no source.
"""

PH_OF_DAYS = 14.0
"""So far back a pH still tells of tonight [d]. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class PhRead:
    """One pH: ``day`` [d] on the same scale as the newest ammonia, ``is_night`` with lights off."""

    day: float
    ph: float
    is_night: bool = False


@dataclass(frozen=True, slots=True)
class Tonight:
    """What must be expected: un-ionised ammonia [mg/L as N] at this pH, and the level, "" if none.

    has_night : a pH with lights off is among those looked at; without one the night may be higher
    """

    un_ionised_mg_n_per_l: float
    ph: float
    level: str
    has_night: bool


def tonight(
    total_mg_n_per_l: float, phs: Iterable[PhRead], *, degc: float, day: float
) -> Tonight | None:
    """Take the highest pH of the two weeks before ``day``; None when there is none.

    >>> tonight(0.6, [PhRead(0, 6.6), PhRead(0, 7.6, True)], degc=25.0, day=1).level
    'watch'
    >>> tonight(0.6, [], degc=25.0, day=1) is None
    True
    """
    known = [read for read in phs if 0 <= day - read.day <= PH_OF_DAYS]
    if not known:
        return None
    ph = max(read.ph for read in known)
    found = unionised_n_mg_per_l(total_mg_n_per_l, ph, degc)
    return Tonight(found, ph, level_of(found), any(read.is_night for read in known))


def level_of(un_ionised_mg_n_per_l: float) -> str:
    """``emergency``, ``act``, ``watch``, or "" below all of them.

    >>> level_of(0.02), level_of(0.0124)
    ('act', '')
    """
    return next((name for name, least in LEVELS_MG_N_PER_L if un_ionised_mg_n_per_l >= least), "")
