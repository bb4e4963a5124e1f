"""Would one more tank fit here? Each line says fits, fits if, or no, and because of what.

Sums, never permissions: what a floor bears is asked of a structural engineer, what a circuit bears
of an electrician, what a room's air bears of a competent person. Nothing is written down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from tanks.science.energy import used_kwh
from tanks.science.filling import Glass
from tanks.science.geometry import volumes
from tanks.science.weight import DRY_BED_KG_PER_M3, filled_kg, floor_load

Verdict = Literal["fits", "if", "no", "number"]
BED_CM = 5.5
"""Mean depth of the ground (common practice, no source)."""
STONE_KG_PER_L = 0.15
"""Stone a litre of the outer volume (common practice, no source: 10 to 20 kg in 100 L)."""
MAINS_V = 230.0
"""Nominal voltage of a public supply in Europe, EN 60038 (from memory)."""
STEADY_PART = 0.8
"""So much of what a circuit's breaker carries for hours on end (common practice, no source)."""
CHANGE_PART = 0.5
"""Water changed a week, as a part of the working volume (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Line:
    """One question: ``number`` an amount without a verdict."""

    key: str
    verdict: Verdict
    words: str
    because: str


@dataclass(frozen=True, slots=True)
class WeekMinutes:
    """A week: minutes asked as it is, with the new tank, and on the rota (None: no shift)."""

    number: int
    now: float
    then: float
    on_rota: int | None


def verdict(lines: Sequence[Line]) -> Verdict:
    """The worst line decides.

    >>> verdict([Line("a", "fits", "", ""), Line("b", "if", "", "")])
    'if'
    """
    found = {line.verdict for line in lines}
    return "no" if "no" in found else "if" if "if" in found else "fits"


def labour_line(weeks: Sequence[WeekMinutes], first: float, grown: float) -> Line:
    """Does the rota of the coming weeks hold the work?

    Parameters
    ----------
    first, grown : minutes of the new tank in its first week, and in a week once it has grown [min]
    """
    asks = f"{first:.0f} min in its first week, {grown:.0f} min a week once grown"
    known = [week for week in weeks if week.on_rota is not None]
    if not known:
        return Line("labour", "if", "if people are put on the rota: no week has a shift", asks)
    short = [(week, week.then - (week.on_rota or 0)) for week in known]
    over = [(week, by) for week, by in short if by > 0]
    if not over:
        spare = min(-by for _week, by in short)
        return Line("labour", "fits", f"{spare:,.0f} min are left in the fullest week", asks)
    week, by = max(over, key=lambda one: one[1])
    because = f"{asks}; week {week.number}: {week.then:.0f} of {week.on_rota} min on the rota"
    if week.now > (week.on_rota or 0):
        words = f"the rota is short without it: by {week.now - (week.on_rota or 0):.0f} min"
        return Line("labour", "no", f"{words} in week {week.number}", because)
    return Line("labour", "if", f"if {by:.0f} min more are found in week {week.number}", because)


def air_line(has_co2: bool, ppm: int | None, step: int, room: str) -> Line:
    """What the room's air gets if the largest cylinder there lets go.

    ppm : None where the room was not measured, has no gas alarm, or no cylinder is known
    step : 0 below the 8-hour limit, 1 above it, 2 above the 15-minute limit
    """
    if not has_co2:
        return Line("air", "fits", "no gas comes with it", "without CO2")
    if not room:
        return Line("air", "if", "if a room is chosen: its air decides", "no room was named")
    if ppm is None:
        words = f"if {room} is measured, has a gas alarm, and the cylinder is known"
        return Line("air", "if", words, "without these there is no number")
    because = f"{room}: +{ppm:,} ppm if the largest cylinder lets go at once, mixed fully"
    if step == 0:
        return Line("air", "fits", "below the limit for eight hours", because)
    if step == 1:
        return Line("air", "if", "if a competent person agrees: above the 8-hour limit", because)
    return Line("air", "no", "above the limit for fifteen minutes: a smaller cylinder", because)


def floor_line(glass: Glass, stand_kg: float) -> Line:
    """Mass and even pressure; never a verdict of ours."""
    inner_l, inside = glass.inner_l, glass.inside_mm
    bed_l = inside[0] * inside[1] * BED_CM * 10 / 1e6
    outer = volumes(*_whole(glass))
    stone_kg = outer.outer_l * STONE_KG_PER_L
    water_l = min(inner_l, outer.working_l)
    mass = filled_kg(glass, water_l, bed_l, stone_kg, stand_kg, bed_kg_per_m3=DRY_BED_KG_PER_M3)
    load = floor_load(mass, glass.length_mm * glass.width_mm / 1e6)
    because = (
        f"{water_l:.0f} L of water, ground {BED_CM:g} cm deep, {stone_kg:.0f} kg of stone, "
        f"glass, stand {stand_kg:g} kg; {load.pressure_kpa:.1f} kPa on its footprint"
    )
    return Line("floor", "number", f"{load.mass_kg:.0f} kg. {load.words}", because)


def circuit_line(
    power_w: float, hours: float, circuit: str, known_w: float, breaker_a: float | None
) -> Line:
    """What hangs on the circuit already, and what comes.

    known_w : power of what is written down on that circuit [W]
    breaker_a : its rating [A], None when nobody read it
    """
    total = known_w + power_w
    year = f"{used_kwh(power_w, hours, days=365):.0f} kWh a year"
    named = f"circuit {circuit}: {known_w:g} W written down + {power_w:g} W" if circuit else year
    because = f"{named}; {year}" if circuit else f"{power_w:g} W, {hours:g} h a day"
    if not circuit or breaker_a is None:
        words = "if an electrician says which circuit bears it"
        return Line("circuit", "if", words, because)
    bears = breaker_a * MAINS_V
    because = f"{because}; {breaker_a:g} A at {MAINS_V:g} V is {bears:.0f} W"
    if total > bears:
        return Line("circuit", "no", f"{total:g} W are more than it carries", because)
    if total > bears * STEADY_PART:
        return Line("circuit", "if", "if an electrician agrees: little is left", because)
    return Line("circuit", "fits", f"{total:g} W on it then; ask an electrician", because)


def year_line(
    glass: Glass, dose_ml_day: float, co2_g_l_day: float | None, food_g_l_week: float | None
) -> Line:
    """Consumables of a year.

    dose_ml_day : full dose for this volume [mL/d]
    co2_g_l_day, food_g_l_week : what this gallery gives a litre of outer volume; None: nothing
    """
    size = volumes(*_whole(glass))
    water = size.working_l * CHANGE_PART * 52
    parts = [f"{dose_ml_day * 365 / 1_000:.1f} L of fertiliser"] if dose_ml_day else []
    if co2_g_l_day is not None:
        parts.append(f"{co2_g_l_day * size.outer_l * 365 / 1_000:.1f} kg of CO2")
    if food_g_l_week is not None:
        parts.append(f"{food_g_l_week * size.outer_l * 52:.0f} g of food")
    parts.append(f"{water:,.0f} L of water")
    because = "full dose by volume; gas and food as this gallery gives a litre; half the water"
    return Line("year", "number", ", ".join(parts), f"{because} changed a week")


def _whole(glass: Glass) -> tuple[int, int, int, int]:
    return (
        round(glass.length_mm),
        round(glass.width_mm),
        round(glass.height_mm),
        round(glass.glass_mm),
    )
