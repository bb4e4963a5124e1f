"""Hardness put into pure water: which salt, how many grams, or how much tap water instead?

Mixing holds for what only mixes: hardness, salts, alkalinity. It does not hold for pH.
"""

from __future__ import annotations

from gallery_ops.kernel.values.limits import OutOfRange
from tanks.science.hardness import MMOL_PER_DEGREE, Alkalinity, GeneralHardness
from tanks.science.numbers import above_zero, not_negative
from tanks.science.salts import atoms, molar_mass_g

SUGGESTION = "CaSO4.2H2O, CaCl2.2H2O and MgSO4.7H2O give hardness, KHCO3 and NaHCO3 alkalinity."


def mg_per_l_per_dgh(salt: str) -> float:
    """How much of a salt makes one degree of general hardness [mg/L].

    Source: 1 dGH = 10 / M(CaO) mmol/L of calcium and magnesium.

    >>> round(mg_per_l_per_dgh("MgSO4.7H2O"), 2)
    43.95
    """
    metals = atoms(salt).get("Ca", 0) + atoms(salt).get("Mg", 0)
    if not metals:
        raise OutOfRange("Salt", "one with calcium or magnesium", salt, SUGGESTION)
    return MMOL_PER_DEGREE * molar_mass_g(salt) / metals


def mg_per_l_per_dkh(salt: str) -> float:
    """How much of a salt makes one degree of carbonate hardness [mg/L].

    Source: 1 dKH = 20 / M(CaO) meq/L; bicarbonate binds one acid, carbonate two.

    >>> round(mg_per_l_per_dkh("NaHCO3"), 2)
    29.96
    """
    binds = {"HCO3": 1, "CO3": 2}
    group = next((name for name in binds if name in salt), None)
    if group is None:
        raise OutOfRange("Salt", "a carbonate or bicarbonate", salt, SUGGESTION)
    return 2 * MMOL_PER_DEGREE * molar_mass_g(salt) / binds[group]


def grams_for_gh(
    salt: str, start: GeneralHardness, target: GeneralHardness, volume_l: float
) -> float:
    """Salt that lifts the general hardness of so much water [g].

    >>> h = GeneralHardness.of_dgh
    >>> round(grams_for_gh("CaSO4.2H2O", h(0), h(4), 100), 1)
    12.3
    """
    return _grams(mg_per_l_per_dgh(salt), start.dgh, target.dgh, volume_l, "General hardness")


def grams_for_kh(salt: str, start: Alkalinity, target: Alkalinity, volume_l: float) -> float:
    """Salt that lifts the alkalinity of so much water [g].

    >>> round(grams_for_kh("NaHCO3", Alkalinity.of_dkh(0), Alkalinity.of_dkh(1), 100), 3)
    2.996
    """
    return _grams(mg_per_l_per_dkh(salt), start.dkh, target.dkh, volume_l, "Carbonate hardness")


def dgh_of_salt(salt: str, mg_per_l: float) -> GeneralHardness:
    """General hardness that so much of a salt makes."""
    not_negative("Salt", "mg/L", mg_per_l)
    return GeneralHardness.of_dgh(mg_per_l / mg_per_l_per_dgh(salt))


def tap_part(target: float, tap: float, pure: float = 0.0) -> float:
    """Part of tap water in a mix with purer water, 0 to 1, for anything that only mixes.

    Source: mass balance.

    >>> tap_part(4, 16)
    0.25
    """
    for name, value in (("Target", target), ("Tap water", tap), ("Pure water", pure)):
        not_negative(name, "", value)
    if tap <= pure:
        raise OutOfRange(
            "Tap water", f"more than {pure:g}, the pure water", f"{tap:g}", "Then there is no mix."
        )
    if not pure <= target <= tap:
        raise OutOfRange(
            "Target", f"{pure:g} to {tap:g}, between the two waters", f"{target:g}", "Add a salt."
        )
    return (target - pure) / (tap - pure)


def mixed(tap: float, pure: float, part: float) -> float:
    """What a mix of both waters holds; the part of tap water is 0 to 1."""
    not_negative("Tap water", "", tap)
    not_negative("Pure water", "", pure)
    if not 0 <= part <= 1:
        raise OutOfRange("Part of tap water", "0 to 1", f"{part:g}")
    return part * tap + (1 - part) * pure


def _grams(per_degree: float, start: float, target: float, volume_l: float, field: str) -> float:
    above_zero("Water", "L", volume_l, "The water that is made.")
    if target < start:
        raise OutOfRange(
            field, f"{start:g} degrees or more", f"{target:g}", "To lower it, change water."
        )
    return (target - start) * per_degree * volume_l / 1_000
