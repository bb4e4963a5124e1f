"""How much water goes up from an open tank? A first guess, until top-up was measured.

Formulas were fitted to pools; two of them differ by 40 %. A lid, a draught or a moving surface
breaks each of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from gallery_ops.kernel.values.limits import Limit
from tanks.science.numbers import KELVIN, USUAL_KPA, N, above_zero, exp, ln, within

DEGC = Limit(5, 40, "°C")
HUMIDITY = Limit(0, 1)
AIR_SPEED = Limit(0, 2, "m/s")
HOURS_PER_DAY = 24

STILL = 0.74
"""What an undisturbed pool lost of what Carrier's equation says: Smith, Lof & Jones, ASHRAE
Transactions 104 (1998), abstract."""

CARRIER_KW_PER_M2_KPA = 0.089
CARRIER_KW_S_PER_M3_KPA = 0.0782
"""ASHRAE's rounding to SI units."""

_WATER_J_PER_KG_K = 461.5
_DRY_J_PER_KG_K = 287.055


@dataclass(frozen=True, slots=True)
class Room:
    """Water and the air above it; humidity is a part, 0 to 1."""

    water_degc: float
    air_degc: float
    humidity: float
    air_m_per_s: float = 0.0

    def __post_init__(self) -> None:
        within("Water", DEGC, self.water_degc)
        within("Air", DEGC, self.air_degc)
        within("Humidity", HUMIDITY, self.humidity, "A part: 0.5 for 50 %.")
        within("Air speed", AIR_SPEED, self.air_m_per_s)

    @property
    def pull_kpa(self) -> float:
        """Vapour pressure at the water less that of the air [kPa]; 0 or less: it condenses."""
        return vapour_kpa(self.water_degc) - self.humidity * vapour_kpa(self.air_degc)


def vapour_kpa(degc: N) -> N:
    """Vapour pressure of water at its surface, 5 to 40 °C [kPa].

    Source: Hyland & Wexler (1983) as ASHRAE Fundamentals prints it.

    >>> round(vapour_kpa(25.0), 3)
    3.169
    """
    within("Temperature", DEGC, degc)
    kelvin = degc + KELVIN
    return (
        exp(
            -5.8002206e3 / kelvin
            + 1.3914993
            - 4.8640239e-2 * kelvin
            + 4.1764768e-5 * (kelvin * kelvin)
            - 1.4452093e-8 * (kelvin * kelvin * kelvin)
            + 6.5459673 * ln(kelvin)
        )
        / 1_000
    )


def latent_kj_per_kg(degc: float) -> float:
    """Heat that a kilogram takes when it evaporates, 5 to 40 °C [kJ/kg].

    Source: a straight line through steam tables, within 0.05 %.

    >>> round(latent_kj_per_kg(25))
    2442
    """
    within("Temperature", DEGC, degc)
    return 2_500.9 - 2.369 * degc


def carrier_kg_per_day(room: Room, area_m2: float, still: float = STILL) -> float:
    """Evaporation by Carrier's equation [kg/d]; 0 where the air is so damp that it condenses.

    still : 0.74 for a quiet surface, 1 for the equation as it stands

    Source: ASHRAE, E = A Fa (0.089 + 0.0782 V)(pw - pa) / Y; Smith, Lof & Jones (1998).

    >>> round(carrier_kg_per_day(Room(25, 22, 0.5), 0.48), 2)
    2.07
    """
    above_zero("Surface", "m²", area_m2)
    within("Activity", Limit(Decimal("0.1"), 2), still)
    kw_per_kpa = CARRIER_KW_PER_M2_KPA + CARRIER_KW_S_PER_M3_KPA * room.air_m_per_s
    kg_per_s = still * kw_per_kpa * max(0.0, room.pull_kpa) / latent_kj_per_kg(room.water_degc)
    return kg_per_s * area_m2 * 3_600 * HOURS_PER_DAY


def shah_kg_per_m2_h(room: Room) -> float:
    """Evaporation of a still pool by Shah's equation [kg/m2 h].

    Source: Shah, ASHRAE Transactions 118 (2012) and 120 (2014); both branches from memory, the
    first agrees with two printed values, the second with none.

    >>> round(shah_kg_per_m2_h(Room(28, 28, 0.5)), 3)
    0.136
    """
    at_water = vapour_kpa(room.water_degc)
    in_air = room.humidity * vapour_kpa(room.air_degc)
    dry_w, ratio_w = _moist(at_water, room.water_degc)
    dry_r, ratio_r = _moist(in_air, room.air_degc)
    rising = 35 * dry_w * max(0.0, dry_r - dry_w) ** (1 / 3) * (ratio_w - ratio_r)
    return max(0.0, float(rising), 5e-5 * (at_water - in_air) * 1_000)


def shah_kg_per_day(room: Room, area_m2: float) -> float:
    """The same for a surface and a day [kg/d]."""
    above_zero("Surface", "m²", area_m2)
    return shah_kg_per_m2_h(room) * area_m2 * HOURS_PER_DAY


def guess_l_per_day(room: Room, area_m2: float) -> tuple[float, float]:
    """Lowest and highest of the two for a still tank, opened by 40 % on both sides [L/d]."""
    both = (carrier_kg_per_day(room, area_m2), shah_kg_per_day(room, area_m2))
    return 0.6 * min(both), 1.4 * max(both)


def _moist(vapour: float, degc: float) -> tuple[float, float]:
    """Dry air in a cubic metre of moist air [kg/m3], and water for each kilogram of it."""
    kelvin = degc + KELVIN
    dry = (USUAL_KPA - vapour) * 1_000 / (_DRY_J_PER_KG_K * kelvin)
    return dry, 0.621945 * vapour / (USUAL_KPA - vapour)
