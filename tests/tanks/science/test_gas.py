"""What scale and gauge say of a cylinder, and what its gas does when it grows warm."""

import csv
from pathlib import Path

import numpy as np
import pytest

from gallery_ops.kernel.values.limits import OutOfRange
from tanks.science import gas, gas_flow, gas_state

pytestmark = pytest.mark.once

# Source: tests/outside/co2_state.csv, CoolProp 8.0.0, which has the equation of Span & Wagner 1996;
# tests/outside/README.md says how it was made.
TABLE = Path(__file__).parents[2] / "outside" / "co2_state.csv"
STATES = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))


def test_pressures_of_one_phase_agree_with_another_code_of_the_same_equation():
    rows = [row for row in STATES if row["quantity"] == "pressure_abs"]
    assert len(rows) > 80
    density = np.array([float(row["density_kg_m3"]) for row in rows])
    degc = np.array([float(row["temp_C"]) for row in rows])
    expected = np.array([float(row["expected"]) for row in rows])
    assert gas_state.pressures_bar(density, degc) == pytest.approx(expected, rel=5e-4)


def test_densities_of_the_gas_agree_with_it():
    rows = [row for row in STATES if row["quantity"] == "gas_density"]
    assert len(rows) == 16
    for row in rows:
        kpa = float(row["unit"].split()[2])
        found = gas_state.gas_kg_per_m3(float(row["temp_C"]), kpa)
        assert found == pytest.approx(float(row["expected"]), rel=1e-4), row


def test_a_gauge_says_nothing_until_about_a_quarter_is_left():
    """A 10 L cylinder that holds 7.5 kg when full, at 20 °C."""
    left = gas.left_when_gauge_falls_kg(10, 20) / 7.5
    assert 0.2 < left < 0.3
    full, half = (gas_state.cylinder_bar(kg, 10, 20) for kg in (7.5, 3.75))
    assert full == half == gas.saturation_bar(20)
    assert gas_state.cylinder_bar(1.0, 10, 20) < 0.75 * full


def test_the_two_ways_meet_where_the_last_liquid_goes():
    for degc in (-10, 0, 10, 20, 28):
        left = gas.left_when_gauge_falls_kg(10, degc)
        below = gas_state.cylinder_bar(left * 0.9999, 10, degc)
        assert below == pytest.approx(gas.saturation_bar(degc), rel=0.003), degc


def test_warmth_makes_the_pressure_of_a_full_cylinder_climb():
    pressures = [gas_state.cylinder_bar(6.8, 10, degc) for degc in range(-20, 81, 5)]
    assert pressures == sorted(pressures)
    assert pressures[-1] > 3 * gas.saturation_bar(20)


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda: gas.saturation_bar(31.5), "Temperature"),
        (lambda: gas.left_when_gauge_falls_kg(0), "Read it off the stamp"),
        (lambda: gas.left_when_gauge_falls_kg(float("nan")), "Read it off the stamp"),
        (lambda: gas.content_kg(1.2, 1.35), "Is it this cylinder"),
        (lambda: gas.content_kg(float("inf"), 1.35), "Weigh it again"),
        (lambda: gas.days_of_supply(500, 0), "Weigh it twice"),
        (lambda: gas.mass_at_filling_kg(10, 0.9), "The stamp and the filler decide"),
        (lambda: gas_state.cylinder_bar(9.9, 10), "Check the weighing"),
        (lambda: gas_state.cylinder_bar(7.5, 10, 90), "Temperature"),
        (lambda: gas_state.cylinder_bar(-1, 10), "Weigh the cylinder"),
        (lambda: gas_state.pressure_bar(1200, 20), "Density"),
        (lambda: gas_state.gas_kg_per_m3(20, 5), "Pressure"),
        (lambda: gas_flow.bubbles_g_per_day(1, 30, 8), "Diameter"),
    ],
)
def test_what_cannot_be_is_refused_with_words(ask, words):
    with pytest.raises(OutOfRange, match=words):
        ask()
