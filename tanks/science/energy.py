"""What do lamps, pumps and heaters use, and how much light does a day bring?

Light is asked at a depth and as photons (PPFD). From lux nobody can tell it without the spectrum of
the lamp; nothing here turns one into the other.
"""

from __future__ import annotations

from gallery_ops.kernel.values.limits import Limit
from tanks.science.numbers import Array, above_zero, not_negative, within

HOURS = Limit(0, 24, "h")
DUTY = Limit(0, 1)
WATER_KJ_PER_KG_K = 4.184
"""At 20 °C, IAPWS-95 by a table."""

LATENT_KJ_PER_KG = 2_441.7
"""Heat of evaporation at 25 °C, IAPWS-95 by a table."""

KJ_PER_KWH = 3_600.0
S_PER_H = 3_600.0


def used_kwh(power_w: float, hours: float, duty: float = 1.0, days: float = 1.0) -> float:
    """What something electric uses [kWh].

    hours : a day, 0 to 24
    duty : part of that time in which it runs, 0 to 1

    Source: power x time.

    >>> used_kwh(90, 8)
    0.72
    """
    not_negative("Power", "W", power_w, "Measure it, or read the plate.")
    within("Hours a day", HOURS, hours)
    within("Part of the time", DUTY, duty)
    not_negative("Days", "d", days)
    return power_w * hours * duty * days / 1_000


def warming_kwh(water_kg: float, by_k: float) -> float:
    """Heat to warm so much water [kWh], nothing lost on the way.

    Source: m c dT, c = 4.184 kJ/kg K.

    >>> round(warming_kwh(180, 5), 3)
    1.046
    """
    not_negative("Water", "kg", water_kg)
    within("Warmer by", Limit(0, 50, "K"), by_k)
    return water_kg * WATER_KJ_PER_KG_K * by_k / KJ_PER_KWH


def heater_kwh_per_day(loss_w_per_k: float, warmer_k: float, evaporated_kg: float) -> float:
    """What a heater gives in a day to hold a tank warmer than its room [kWh/d].

    loss_w_per_k : heat through glass and lid; measure it on this tank, nobody can look it up
    evaporated_kg : a day; often the larger part

    Source: UA dT t + evaporated mass x 2,441.7 kJ/kg.

    >>> round(heater_kwh_per_day(2.5, 4, 1.5), 2)
    1.26
    """
    not_negative("Heat loss", "W/K", loss_w_per_k, "Measure it on this tank.")
    within("Warmer than the room", Limit(0, 30, "K"), warmer_k)
    not_negative("Evaporated", "kg/d", evaporated_kg)
    return loss_w_per_k * warmer_k * 24 / 1_000 + evaporated_kg * LATENT_KJ_PER_KG / KJ_PER_KWH


def daily_light_mol_per_m2(ppfd_umol: float, hours: float, ramp_h: float = 0.0) -> float:
    """Photons of a day on a square metre at a stated depth [mol/m2 d].

    ppfd_umol : at full power [umol/m2 s]
    hours : from the first light to the last, 0 to 24
    ramp_h : each of a straight rise and a straight fall, inside these hours

    Source: definition, sum of PPFD over time.

    >>> round(daily_light_mol_per_m2(100, 8), 2), round(daily_light_mol_per_m2(100, 8, 1), 2)
    (2.88, 2.52)
    """
    not_negative("PPFD", "µmol/m²/s", ppfd_umol, "Measure it at the depth that you mean.")
    within("Hours of light", HOURS, hours)
    within("Ramp", Limit(0, 12, "h"), ramp_h)
    within("Both ramps", Limit(0, int(hours * 3_600), "s"), int(ramp_h * 2 * 3_600))
    return ppfd_umol * (hours - ramp_h) * S_PER_H / 1e6


def daily_light_of_series_mol_per_m2(ppfd_umol: Array, every_s: float) -> float:
    """The same from readings at even steps over a day [mol/m2 d], by trapezia."""
    not_negative("PPFD", "µmol/m²/s", ppfd_umol)
    above_zero("Step", "s", every_s)
    ends = (float(ppfd_umol[0]) + float(ppfd_umol[-1])) / 2 if ppfd_umol.size else 0.0
    return (float(ppfd_umol.sum()) - ends) * every_s / 1e6


def turnover_per_h(flow_l_per_h: float, net_l: float) -> float:
    """How often a filter moves all the water in an hour [1/h]; 4 to 10 is common practice.

    flow_l_per_h : as measured on this tank; the figure on the box is without hoses

    Source: flow / net volume.

    >>> turnover_per_h(800, 160)
    5.0
    """
    not_negative("Flow", "L/h", flow_l_per_h, "Time a bucket.")
    above_zero("Water", "L", net_l, "The net volume of the tank.")
    return flow_l_per_h / net_l
