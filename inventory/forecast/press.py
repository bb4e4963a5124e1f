"""How much does one press give, and how many presses make a dose?

A pump bottle is calibrated by weighing twenty presses. The measured press counts for the
instruction and for the stock alike: three presses of 0.924 mL are 2.772 mL, whatever the label
says. All volumes are whole microlitres; density is in whole milligrams per millilitre (1.05 g/mL =
1050).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from gallery_ops.kernel.values.limits import OutOfRange

NOMINAL_UL_PER_PRESS = 1_000
CUP_ABOVE_UL = 15_000
"""Above 15 mL a measuring cup is used instead of the pump (common practice, no source)."""
OFF_BY_PERCENT = 5
"""A press that differs by more than this from the instruction is to be put right."""


@dataclass(frozen=True, slots=True)
class Instruction:
    """What a carer is told: presses of a pump, or millilitres by measuring cup (presses None).

    ``given_ul`` is what really goes in, ``wanted_ul`` what the plan asks for.
    """

    presses: int | None
    given_ul: int
    wanted_ul: int


def ul_per_press(presses: int, mass_mg: int, density_mg_per_ml: int) -> int:
    """Measured volume of one press [uL], halves up.

    presses : counted presses weighed together, 1 or more (twenty are usual)
    mass_mg : their mass, more than 0 [mg]
    density_mg_per_ml : 300 to 3000 [mg/mL]
    Raises OutOfRange with field, limit and remedy.

    >>> ul_per_press(20, 19_400, 1_050)
    924
    """
    if presses < 1:
        raise OutOfRange("presses", "1 or more", presses, "Count the presses, twenty are best.")
    if mass_mg <= 0:
        raise OutOfRange("mass", "more than 0 g", mass_mg, "Weigh the cup before and after.")
    _check_density(density_mg_per_ml)
    parts = 1_000 * mass_mg
    whole = density_mg_per_ml * presses
    return (2 * parts + whole) // (2 * whole)


def press_sd_ul(
    presses: int, density_mg_per_ml: int, noise_sd_mg: int, resolution_mg: int
) -> float:
    """How far a measured press may be off by the scale alone, one standard deviation [uL].

    Two readings, each with the scale's noise and with the rounding to its step, which is as good as
    a standard deviation of step / sqrt(12) (JCGM 100:2008, 4.3.7).

    >>> round(press_sd_ul(20, 1_050, 500, 1_000), 1)
    38.9
    """
    if presses < 1:
        raise OutOfRange("presses", "1 or more", presses, "Count the presses, twenty are best.")
    _check_density(density_mg_per_ml)
    of_both_mg = sqrt(2 * (noise_sd_mg**2 + resolution_mg**2 / 12))
    return 1_000 * of_both_mg / (density_mg_per_ml * presses)


def presses_for(wanted_ul: int, press_ul: int) -> int:
    """Whole presses nearest to the wanted volume, halves up; at least one for anything above 0.

    >>> presses_for(3_000, 1_000), presses_for(9_000, 924), presses_for(1_575, 1_000)
    (3, 10, 2)
    """
    _check_press(press_ul)
    if wanted_ul < 0:
        raise OutOfRange("dose", "0 mL or more", wanted_ul)
    if wanted_ul == 0:
        return 0
    return max(1, (2 * wanted_ul + press_ul) // (2 * press_ul))


def given_by(presses: int, press_ul: int) -> int:
    """What so many presses give [uL].

    >>> given_by(3, 924)
    2772
    """
    _check_press(press_ul)
    if presses < 0:
        raise OutOfRange("presses", "0 or more", presses)
    return presses * press_ul


def instruction(wanted_ul: int, press_ul: int, cup_above_ul: int = CUP_ABOVE_UL) -> Instruction:
    """Presses up to ``cup_above_ul``, a measuring cup above it.

    >>> instruction(32_000, 924), instruction(3_000, 924).presses
    (Instruction(presses=None, given_ul=32000, wanted_ul=32000), 3)
    """
    if wanted_ul > cup_above_ul:
        return Instruction(None, wanted_ul, wanted_ul)
    presses = presses_for(wanted_ul, press_ul)
    return Instruction(presses, given_by(presses, press_ul), wanted_ul)


def is_off(measured_ul: int, instructed_ul: int, off_by_percent: int = OFF_BY_PERCENT) -> bool:
    """Does the measured press differ by more than ``off_by_percent`` from the instructed one?

    >>> is_off(924, 1_000), is_off(950, 1_000)
    (True, False)
    """
    _check_press(measured_ul)
    _check_press(instructed_ul)
    return abs(measured_ul - instructed_ul) * 100 > off_by_percent * instructed_ul


def _check_press(press_ul: int) -> None:
    if press_ul <= 0:
        raise OutOfRange("volume per press", "more than 0 mL", press_ul, "Calibrate the pump.")


def _check_density(density_mg_per_ml: int) -> None:
    if not 300 <= density_mg_per_ml <= 3_000:
        shown = f"{density_mg_per_ml / 1_000:g} g/mL"
        raise OutOfRange("density", "0.3 to 3 g/mL", shown, "Water is 1, most products 1 to 1.1.")


def full_dose_ul(outer_mm3: int, ul_per_l: int) -> int:
    """Full daily dose of a tank [uL], to the nearest whole millilitre, halves up.

    outer_mm3 : volume of the outer dimensions, > 0 [mm3]; ul_per_l : dose per litre of it [uL/L]
    Rule of 0.05 mL/L of outer volume and whole millilitres: common practice, no source.

    >>> full_dose_ul(600 * 300 * 360, 50), full_dose_ul(300 * 300 * 350, 50)
    (3000, 2000)
    """
    if outer_mm3 <= 0:
        raise OutOfRange("volume", "more than 0 L", outer_mm3, "Measure the tank.")
    return (outer_mm3 * ul_per_l + 500_000_000) // 1_000_000_000 * 1_000
