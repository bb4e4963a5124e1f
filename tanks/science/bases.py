"""Which figure is kept of a nitrogen compound that a kit counts in one of several ways?

The same water reads 1 mg/L as N and 4.4 mg/L as nitrate. One way is kept per parameter, so that
readings of two kits can stand side by side; what was read and how it was counted stay beside it.
"""

from __future__ import annotations

from gallery_ops.kernel.values.limits import OutOfRange

COUNTED_AS: dict[str, tuple[str, ...]] = {
    "ammonia_n": ("N", "NH3", "NH4"),
    "nitrite": ("NO2", "N"),
    "nitrate": ("NO3", "N"),
}
"""Parameter -> the ways in which kits count it, the kept one first."""

_N_G, _H_G, _O_G = 14.007, 1.008, 15.999
MOLAR_MASS_G = {
    "N": _N_G,
    "NH3": _N_G + 3 * _H_G,
    "NH4": _N_G + 4 * _H_G,
    "NO2": _N_G + 2 * _O_G,
    "NO3": _N_G + 3 * _O_G,
}
"""One mole [g], from the abridged standard atomic weights (IUPAC), from memory."""

SHOWN = {"N": "N", "NH3": "NH₃", "NH4": "NH₄", "NO2": "NO₂", "NO3": "NO₃"}


def as_kept(mg_per_l: float, key: str, counted_as: str) -> float:
    """A figure in the way that is kept for its parameter [mg/L].

    counted_as : as it stands on the kit's paper; empty is the kept way

    Source: one atom of nitrogen in each, so the masses of a mole stand to each other as the
    figures do.

    >>> round(as_kept(1, "ammonia_n", "NH4"), 4), round(as_kept(1, "nitrate", "N"), 3)
    (0.7765, 4.427)
    >>> as_kept(4, "kh", "")
    4
    """
    if not counted_as:
        return mg_per_l
    ways = COUNTED_AS.get(key, ())
    if counted_as not in ways:
        allowed = ", ".join(ways) or "nothing: it is counted in one way"
        raise OutOfRange("Counted as", allowed, counted_as, "It stands on the kit's paper.")
    if counted_as == ways[0]:
        return mg_per_l
    return mg_per_l * MOLAR_MASS_G[ways[0]] / MOLAR_MASS_G[counted_as]
