"""Pressure and density of CO2 at any filling and warmth: a real equation of state.

The residual Helmholtz energy of Span & Wagner, J. Phys. Chem. Ref. Data 25:1509 (1996): 34 terms
with powers, five bells and three for the critical point; the figures are the published ones. The
paper states its own error as 0.03 to 0.05 % in density up to 30 MPa. What is written here agrees
with CoolProp 8.0.0, which has the same equation, within 0.05 % of the pressure (in the tests, -20
to 80 °C, up to 950 kg/m3).

It says what a cylinder does when it grows warm. It is not for filling one: the stamp and the filler
decide that.
"""

from __future__ import annotations

from decimal import Decimal

import numpy as np

from gallery_ops.kernel.values.limits import Limit, OutOfRange
from tanks.science.gas import CRITICAL_K, CRITICAL_KG_PER_M3, liquid_kg_per_m3, saturation_bar
from tanks.science.gas import vapour_kg_per_m3 as saturated_kg_per_m3
from tanks.science.numbers import KELVIN, USUAL_KPA, Array, above_zero, within

DEGC = Limit(-20, 80, "°C")
KG_PER_M3 = Limit(0, 1_100, "kg/m³")
GAS_KPA = Limit(50, 1_000, "kPa")
CYLINDER_KG_PER_L = Limit(0, Decimal("0.95"), "kg/L")
GAS_J_PER_KG_K = 188.9241
BAR_PER_PA = 1e-5

_POWERS = np.array(
    [
        # n, power of density, power of 1/T, power of density in the exponential (0: none)
        (0.38856823203161, 1, 0, 0), (2.9385475942740, 1, 0.75, 0),
        (-5.5867188534934, 1, 1, 0), (-0.76753199592477, 1, 2, 0),
        (0.31729005580416, 2, 0.75, 0), (0.54803315897767, 2, 2, 0),
        (0.12279411220335, 3, 0.75, 0), (2.1658961543220, 1, 1.5, 1),
        (1.5841735109724, 2, 1.5, 1), (-0.23132705405503, 4, 2.5, 1),
        (0.058116916431436, 5, 0, 1), (-0.55369137205382, 5, 1.5, 1),
        (0.48946615909422, 5, 2, 1), (-0.024275739843501, 6, 0, 1),
        (0.062494790501678, 6, 1, 1), (-0.12175860225246, 6, 2, 1),
        (-0.37055685270086, 1, 3, 2), (-0.016775879700426, 1, 6, 2),
        (-0.11960736637987, 4, 3, 2), (-0.045619362508778, 4, 6, 2),
        (0.035612789270346, 4, 8, 2), (-0.0074427727132052, 7, 6, 2),
        (-0.0017395704902432, 8, 0, 2), (-0.021810121289527, 2, 7, 3),
        (0.024332166559236, 3, 12, 3), (-0.037440133423463, 3, 16, 3),
        (0.14338715756878, 5, 22, 4), (-0.13491969083286, 5, 24, 4),
        (-0.023151225053480, 6, 16, 4), (0.012363125492901, 7, 24, 4),
        (0.0021058321972940, 8, 8, 4), (-0.00033958519026368, 10, 2, 4),
        (0.0055993651771592, 4, 28, 5), (-0.00030335118055646, 8, 14, 6),
    ]
)  # fmt: skip
_BELLS = np.array(
    [
        # n, power of density, power of 1/T, alpha, beta, gamma; all sit at density 1
        (-213.65488688320, 2, 1, 25, 325, 1.16), (26641.569149272, 2, 0, 25, 300, 1.19),
        (-24027.212204557, 2, 1, 25, 300, 1.19), (-283.41603423999, 3, 3, 15, 275, 1.25),
        (212.47284400179, 3, 3, 20, 275, 1.22),
    ]
)  # fmt: skip
_NEAR_CRITICAL = np.array(
    [
        # n, a, b, beta, A, B, C, D
        (-0.66642276540751, 3.5, 0.875, 0.3, 0.7, 0.3, 10.0, 275.0),
        (0.72608632349897, 3.5, 0.925, 0.3, 0.7, 0.3, 10.0, 275.0),
        (0.055068668612842, 3.0, 0.875, 0.3, 0.7, 1.0, 12.5, 275.0),
    ]
)  # fmt: skip


def pressure_bar(kg_per_m3: float, degc: float) -> float:
    """Absolute pressure of one phase, liquid or gas, at this density [bar].

    kg_per_m3 : 0 to 1,100
    degc : -20 to 80

    Where liquid and gas stand together it means nothing: ask :func:`cylinder_bar`.

    >>> round(pressure_bar(1.8393, 20), 4)
    1.0132
    """
    within("Density", KG_PER_M3, kg_per_m3)
    within("Temperature", DEGC, degc)
    return float(pressures_bar(np.array([kg_per_m3]), np.array([degc], dtype=float))[0])


def cylinder_bar(content_kg: float, water_l: float, degc: float = 20.0) -> float:
    """Absolute pressure in a cylinder that holds so much, at this warmth [bar].

    content_kg : gas and liquid together, 0 or more
    water_l : water capacity as stamped
    degc : -20 to 80; a car in the sun reaches 65

    Between the last liquid and a cylinder full of it, it is the saturation pressure (gas.py, within
    0.15 % of the full equation). Raises OutOfRange from 0.95 kg/L on, where no filler goes.

    >>> round(cylinder_bar(7.5, 10), 1), round(cylinder_bar(1.0, 10), 1)
    (57.3, 40.7)
    """
    above_zero("Water capacity", "L", water_l, "Read it off the stamp.")
    within("Content", Limit(0, None, "kg"), content_kg, "Weigh the cylinder.")
    within("Temperature", DEGC, degc)
    within("Content for each litre", CYLINDER_KG_PER_L, content_kg / water_l, "Check the weighing.")
    density = content_kg / water_l * 1_000
    if degc + KELVIN < CRITICAL_K - 0.1 and (
        saturated_kg_per_m3(degc) <= density <= liquid_kg_per_m3(degc)
    ):
        return saturation_bar(degc)
    return pressure_bar(density, degc)


def gas_kg_per_m3(degc: float, kpa: float = USUAL_KPA) -> float:
    """Density of the gas at about air pressure [kg/m3]; the ideal gas is 0.5 % lighter.

    >>> round(gas_kg_per_m3(20), 4)
    1.8393
    """
    within("Temperature", DEGC, degc)
    within("Pressure", GAS_KPA, kpa)
    wanted = kpa / 100
    density = kpa * 1_000 / (GAS_J_PER_KG_K * (degc + KELVIN))
    for _ in range(40):
        found = pressure_bar(density, degc)
        if abs(found - wanted) < 1e-10 * wanted:
            return density
        density *= wanted / found
    raise OutOfRange("Pressure", "one at which CO2 is a gas", f"{kpa:g} kPa")


def pressures_bar(kg_per_m3: Array, degc: Array) -> Array:
    """:func:`pressure_bar` of many at once; both arrays broadcast against each other."""
    within("Density", KG_PER_M3, kg_per_m3)
    within("Temperature", DEGC, degc)
    kelvin = degc + KELVIN
    delta, tau = np.broadcast_arrays(kg_per_m3 / CRITICAL_KG_PER_M3, CRITICAL_K / kelvin)
    pull = _of_powers(delta, tau) + _of_bells(delta, tau) + _near_critical(delta, tau)
    found: Array = kg_per_m3 * GAS_J_PER_KG_K * kelvin * (1 + delta * pull) * BAR_PER_PA
    return found


def _of_powers(delta: Array, tau: Array) -> Array:
    n, d, t, c = _POWERS.T
    delta, tau = delta[..., None], tau[..., None]
    damped = np.where(c > 0, np.exp(-(delta**c)), 1.0)
    slope = np.where(c > 0, d - c * delta**c, d)
    total: Array = np.sum(n * slope * delta ** (d - 1) * tau**t * damped, axis=-1)
    return total


def _of_bells(delta: Array, tau: Array) -> Array:
    n, d, t, alpha, beta, gamma = _BELLS.T
    delta, tau = delta[..., None], tau[..., None]
    off = delta - 1
    bell = np.exp(-alpha * off * off - beta * (tau - gamma) ** 2)
    slope = d * delta ** (d - 1) - 2 * alpha * off * delta**d
    total: Array = np.sum(n * tau**t * bell * slope, axis=-1)
    return total


def _near_critical(delta: Array, tau: Array) -> Array:
    """The three terms that bend the curve at the critical point."""
    n, a, b, beta, big_a, big_b, big_c, big_d = _NEAR_CRITICAL.T
    delta, tau = delta[..., None], tau[..., None]
    off = delta - 1
    square = np.maximum(off * off, 1e-24)
    theta = (1 - tau) + big_a * square ** (1 / (2 * beta))
    big = theta * theta + big_b * square**a
    psi = np.exp(-big_c * square - big_d * (tau - 1) ** 2)
    big_slope = off * (
        big_a * theta * 2 / beta * square ** (1 / (2 * beta) - 1)
        + 2 * big_b * a * square ** (a - 1)
    )
    psi_slope = -2 * big_c * off * psi
    each = big**b * (psi + delta * psi_slope) + b * big ** (b - 1) * big_slope * delta * psi
    total: Array = np.sum(n * each, axis=-1)
    return total
