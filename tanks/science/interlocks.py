"""Do lamps, gas, heater and filter of a tank fit each other?

Clock hours are decimal hours of the gallery's day, 0 to 24; a timer may run past midnight. What is
not known is no finding.
"""

from __future__ import annotations

from dataclasses import dataclass

LEAD_H = 2.25
"""Gas may run so long before the lamps: one to two hours. Common practice, no source."""

TAIL_H = 1.5
"""Gas may be off for so long at the end of the light: about an hour. Common practice, no source."""

SLOWEST_K_PER_H = 0.25
"""A heater that warms more slowly at full power cannot hold a cold night. Common practice, no
source."""

LEAST_FLOW_PART = 0.5
"""Below this part of the clean flow a filter asks for its service. Common practice, no source."""

WH_PER_KG_K = 4.184 / 3.6
"""Heat of water [Wh/kg K], from 4.184 kJ/kg K at 20 °C (IAPWS-95 by a table)."""


@dataclass(frozen=True, slots=True)
class Hours:
    """A timer: on at and off at [h of the day]. Equal ones are a whole day."""

    on_h: float
    off_h: float

    @property
    def long_h(self) -> float:
        """How long it runs [h].

        >>> Hours(22, 6).long_h
        8
        """
        return (self.off_h - self.on_h) % 24 or 24

    def overlap_h(self, other: Hours) -> float:
        """How long both run [h].

        >>> Hours(10, 18).overlap_h(Hours(9, 17)), Hours(22, 6).overlap_h(Hours(5, 8))
        (7, 1)
        """
        begin = (other.on_h - self.on_h) % 24
        first = min(self.long_h, begin + other.long_h) - begin
        second = min(self.long_h, begin + other.long_h - 24)
        return max(0, first) + max(0, second)


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a tank; None where nobody wrote it down.

    water_l : net volume; flow_now_l_per_h : as last measured at this filter
    """

    has_co2: bool = False
    light: Hours | None = None
    gas: Hours | None = None
    heater_w: float | None = None
    water_l: float | None = None
    flow_now_l_per_h: float | None = None
    flow_clean_l_per_h: float | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """Something that does not fit: what, its figure and the figure that it should keep to."""

    what: str
    is_so: float
    limit: float


def found(known: Known) -> list[Found]:
    """All that does not fit.

    >>> found(Known(has_co2=True, light=Hours(10, 18), gas=Hours(9, 20)))
    [Found(what='gas_after_light', is_so=2, limit=0)]
    """
    one_by_one = [
        light_without_gas(known),
        gas_after_light(known),
        gas_long_before(known),
        weak_heater(known),
        low_flow(known),
    ]
    return [one for one in one_by_one if one is not None]


def light_without_gas(known: Known) -> Found | None:
    """Hours of light without gas in a tank that lives on it; algae take what plants cannot."""
    if not known.has_co2 or known.light is None or known.gas is None:
        return None
    bare = known.light.long_h - known.light.overlap_h(known.gas)
    return Found("light_without_gas", bare, TAIL_H) if bare > TAIL_H else None


def gas_after_light(known: Known) -> Found | None:
    """Hours of gas in the dark after the lamps: plants no longer take it, animals suffer."""
    if known.light is None or known.gas is None:
        return None
    dark = known.gas.long_h - known.gas.overlap_h(known.light)
    after = dark - min(dark, _lead_h(known.light, known.gas))
    return Found("gas_after_light", after, 0) if after > 1e-9 else None


def gas_long_before(known: Known) -> Found | None:
    """Hours of gas in the dark before the lamps, longer than it takes to be in the water."""
    if known.light is None or known.gas is None:
        return None
    lead = _lead_h(known.light, known.gas)
    return Found("gas_long_before", lead, LEAD_H) if lead > LEAD_H else None


def weak_heater(known: Known) -> Found | None:
    """Kelvin an hour at full power with nothing lost, below what holds a cold night.

    >>> weak_heater(Known(heater_w=25, water_l=160)).what
    'weak_heater'
    """
    if known.heater_w is None or not known.water_l:
        return None
    k_per_h = known.heater_w / (known.water_l * WH_PER_KG_K)
    return Found("weak_heater", k_per_h, SLOWEST_K_PER_H) if k_per_h < SLOWEST_K_PER_H else None


def low_flow(known: Known) -> Found | None:
    """Part of the clean flow that is left, below half.

    >>> low_flow(Known(flow_now_l_per_h=390, flow_clean_l_per_h=800))
    Found(what='low_flow', is_so=0.4875, limit=0.5)
    """
    if known.flow_now_l_per_h is None or not known.flow_clean_l_per_h:
        return None
    part = known.flow_now_l_per_h / known.flow_clean_l_per_h
    return Found("low_flow", part, LEAST_FLOW_PART) if part < LEAST_FLOW_PART else None


def _lead_h(light: Hours, gas: Hours) -> float:
    """How long gas runs before the lamps go on [h]; 0 where it begins in the light.

    Gas that never meets the light has no lead: all of it is in the dark.
    """
    if gas.overlap_h(light) <= 0:
        return 0
    begins_in_the_light = (gas.on_h - light.on_h) % 24 < light.long_h
    return 0 if begins_in_the_light else (light.on_h - gas.on_h) % 24
