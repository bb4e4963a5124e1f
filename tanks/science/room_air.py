"""What happens to the air of a room if a gas cylinder in it lets go?

A sum, not a clearance: it takes the whole fill at once, mixed fully, with no ventilation. Near the
floor it is more, since the gas is heavier than air. A competent person decides.
"""

from __future__ import annotations

from math import exp, inf, log

import numpy as np

from gallery_ops.kernel.values.limits import Limit
from tanks.science.numbers import Array, above_zero, not_negative, within

GAS_G_PER_L = 1.84
"""Density of CO2 gas at 20 °C and about 1 bar [g/L], rounded; gas_state gives 1.8393."""

USUAL_DEGC = 20.0
USUAL_KPA = 101.325
KELVIN = 273.15
CO2_G_PER_MOL = 44.009
GAS_J_PER_MOL_K = 8.314462618
OUTDOOR_PPM = 420.0
"""CO2 of outdoor air [ppm by volume] (common practice, no source)."""

EIGHT_HOURS_PPM = 5_000
FIFTEEN_MINUTES_PPM = 15_000
"""Workplace limits for CO2: EH40/2005 as quoted by secondary pages; the local rule decides."""

DEGC = Limit(-20, 50, "°C")
KPA = Limit(70, 110, "kPa")
PPM = Limit(0, 1_000_000, "ppm")
CHANGES = Limit(0, 60, "an hour")


def gas_volume_m3(gas_g: float, degc: float = USUAL_DEGC, kpa: float = USUAL_KPA) -> float:
    """Volume of so much CO2 gas in a room [m3].

    Parameters
    ----------
    gas_g : mass of the gas, >= 0 [g]
    degc : temperature of the room, -20 to 50 [°C]
    kpa : air pressure, 70 to 110 [kPa]

    Source: mass / density, the density at 20 °C carried to other air as an ideal gas; that gas is
    0.5 % larger than the real one at most.
    """
    not_negative("Gas", "g", gas_g, "Weigh the cylinder.")
    within("Temperature", DEGC, degc, "Read the thermometer of the room.")
    within("Air pressure", KPA, kpa, "Sea level is about 101 kPa.")
    warmer = (degc + KELVIN) / (USUAL_DEGC + KELVIN)
    return gas_g / GAS_G_PER_L / 1_000 * warmer * (USUAL_KPA / kpa)


def added_ppm(
    gas_g: float, volume_m3: float, degc: float = USUAL_DEGC, kpa: float = USUAL_KPA
) -> float:
    """CO2 added to a closed room by so much gas, mixed fully [ppm by volume].

    Parameters
    ----------
    gas_g : mass of the gas, >= 0 [g]
    volume_m3 : air volume of the room, > 0 [m3]
    degc, kpa : air of the room

    Raises
    ------
    OutOfRange
        with field, limit and unit.

    Source: gas volume / room volume; no air leaves, so it errs on the high side.

    >>> round(added_ppm(2000, 60))
    18116
    """
    return gas_volume_m3(gas_g, degc, kpa) / _room(volume_m3) * 1_000_000


def peak_ppm(
    gas_g: float,
    volume_m3: float,
    before_ppm: float = OUTDOOR_PPM,
    degc: float = USUAL_DEGC,
    kpa: float = USUAL_KPA,
) -> float:
    """CO2 of a room after the release, when mixed air leaves while gas comes in [ppm by volume].

    Source: x = 1 - (1 - x0) exp(-Vg / V), mixed at each moment and at constant pressure.

    >>> round(peak_ppm(2000, 60))
    18365
    """
    return peak_of_volume_ppm(gas_volume_m3(gas_g, degc, kpa), volume_m3, before_ppm)


def peak_of_volume_ppm(gas_m3: float, volume_m3: float, before_ppm: float = OUTDOOR_PPM) -> float:
    """The same for a volume of gas [ppm by volume]."""
    not_negative("Gas", "m³", gas_m3)
    within("CO2 before", PPM, before_ppm)
    return (1 - (1 - before_ppm / 1e6) * exp(-gas_m3 / _room(volume_m3))) * 1_000_000


def ppm_after(
    start_ppm: float, hours: float, air_changes_per_h: float, outdoor_ppm: float = OUTDOOR_PPM
) -> float:
    """CO2 of a room that is aired, after some hours [ppm by volume].

    Source: C = Cout + (C0 - Cout) exp(-n t), well mixed; a room never is.

    >>> round(ppm_after(45_000, 1, 2))
    6453
    """
    _check_airing(start_ppm, air_changes_per_h, outdoor_ppm)
    not_negative("Time", "h", hours)
    return outdoor_ppm + (start_ppm - outdoor_ppm) * exp(-air_changes_per_h * hours)


def ppm_over(
    hours: Array,
    start_ppm: float,
    air_changes_per_h: float,
    gas_g_per_h: float = 0.0,
    volume_m3: float = inf,
    outdoor_ppm: float = OUTDOOR_PPM,
) -> Array:
    """CO2 of a room over time while gas keeps leaking and air is changed [ppm by volume].

    hours : moments, each 0 or more [h]
    gas_g_per_h : what leaks at an even rate [g/h]; 127 g a day of a whole gallery are 5
    volume_m3 : air of the room; needed as soon as something leaks

    Source: dC/dt = G / V - n (C - Cout), well mixed, small beside the air of the room.

    >>> ppm_over(np.array([0.0, 1.0]), 45_000, 2).round().tolist()
    [45000.0, 6453.0]
    """
    not_negative("Time", "h", hours)
    _check_airing(start_ppm, air_changes_per_h, outdoor_ppm)
    rate = added_ppm(gas_g_per_h, volume_m3) if gas_g_per_h else 0.0
    if air_changes_per_h == 0:
        return start_ppm + rate * hours
    level = outdoor_ppm + rate / air_changes_per_h
    fall: Array = np.exp(-air_changes_per_h * hours)
    return level + (start_ppm - level) * fall


def hours_until(
    limit_ppm: float, start_ppm: float, air_changes_per_h: float, outdoor_ppm: float = OUTDOOR_PPM
) -> float:
    """Hours of airing until a limit [h]; 0 when it is below already, infinite without airing.

    Source: t = ln((C0 - Cout) / (Clim - Cout)) / n, well mixed. A number for planning an airing,
    never for going in: the alarm and a competent person decide.
    """
    _check_airing(start_ppm, air_changes_per_h, outdoor_ppm)
    within("Limit", PPM, limit_ppm)
    if start_ppm <= limit_ppm:
        return 0.0
    if air_changes_per_h <= 0 or limit_ppm <= outdoor_ppm:
        return inf
    return log((start_ppm - outdoor_ppm) / (limit_ppm - outdoor_ppm)) / air_changes_per_h


def mg_per_m3(ppm: float, degc: float = USUAL_DEGC, kpa: float = USUAL_KPA) -> float:
    """The same concentration by mass [mg/m3], as an ideal gas.

    >>> round(mg_per_m3(5_000))
    9148
    """
    within("CO2", PPM, ppm)
    litres_per_mol = GAS_J_PER_MOL_K * (degc + KELVIN) / kpa
    return ppm * CO2_G_PER_MOL / litres_per_mol


def step_of(ppm: float) -> int:
    """0 at or below the 8-hour limit, 1 above it, 2 above the 15-minute limit.

    >>> step_of(4_529), step_of(7_344), step_of(25_880)
    (0, 1, 2)
    """
    return int(ppm > EIGHT_HOURS_PPM) + int(ppm > FIFTEEN_MINUTES_PPM)


def _room(volume_m3: float) -> float:
    above_zero("Room", "m³", volume_m3, "Measure the room first.")
    return volume_m3


def _check_airing(start_ppm: float, air_changes_per_h: float, outdoor_ppm: float) -> None:
    within("CO2 at the start", PPM, start_ppm)
    within("CO2 outdoors", PPM, outdoor_ppm)
    within("Air changes", CHANGES, air_changes_per_h, "A closed room has 0.2 to 0.5 an hour.")
