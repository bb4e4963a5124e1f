"""What happens to the air of a room if a gas cylinder in it lets go?

A sum, not a clearance: it takes the whole fill at once, mixed fully, with no ventilation. Near the
floor it is more, since the gas is heavier than air. A competent person decides.
"""

from __future__ import annotations

from gallery_ops.kernel.values.limits import OutOfRange

GAS_G_PER_L = 1.84
"""Density of CO2 gas at 20 °C and about 1 bar [g/L] (from memory)."""

EIGHT_HOURS_PPM = 5_000
FIFTEEN_MINUTES_PPM = 15_000
"""Workplace limits for CO2: EH40/2005 as quoted by secondary pages; the local rule decides."""


def added_ppm(gas_g: float, volume_m3: float) -> float:
    """CO2 added to a closed room by so much gas, mixed fully [ppm by volume].

    Parameters
    ----------
    gas_g : mass of the gas, >= 0 [g]
    volume_m3 : air volume of the room, > 0 [m3]

    Raises
    ------
    OutOfRange
        with field, limit and unit.

    Source: gas volume = mass / density; density as above.

    >>> round(added_ppm(2000, 60))
    18116
    """
    if volume_m3 <= 0:
        raise OutOfRange("Room", "more than 0 m³", f"{volume_m3} m³", "Measure the room first.")
    if gas_g < 0:
        raise OutOfRange("Gas", "0 g or more", f"{gas_g} g", "Weigh the cylinder.")
    return gas_g / GAS_G_PER_L / 1_000 / volume_m3 * 1_000_000
