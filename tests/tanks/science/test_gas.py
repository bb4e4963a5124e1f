"""What scale and gauge say of a cylinder, row by row against published properties of CO2."""

import csv
from collections import Counter
from pathlib import Path

import pytest

from gallery_ops.kernel.values.limits import OutOfRange
from tanks.science import gas

pytestmark = pytest.mark.once

# Source: tests/outside/co2_cylinder.csv, whose rows name theirs (Span & Wagner 1996 above all).
TABLE = Path(__file__).parents[2] / "outside" / "co2_cylinder.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))
EIGHT_FIGURES = 5e-8
"""The table is printed to eight figures [relative]."""


def _number(row, name):
    return float(row[name]) if row[name] else None


def _gauge(row):
    contents, water = _number(row, "contents_kg"), _number(row, "water_capacity_L")
    if contents >= gas.left_when_gauge_falls_kg(water, _number(row, "temp_C")):
        return gas.saturation_bar(_number(row, "temp_C"))
    return "below the last liquid the program gives no pressure: weigh it"


def _warmed(row):
    degc, filled = _number(row, "temp_C"), _number(row, "filling_ratio") * 1000
    if degc < gas.CRITICAL_K - gas.KELVIN and filled <= gas.liquid_kg_per_m3(degc):
        return gas.saturation_bar(degc)
    return "pressure of a cylinder without a gas cushion: the filler's business"


def _days(row):
    content_g, reserve_g = (_number(row, name) * 1000 for name in ("contents_kg", "reserve_kg"))
    return gas.days_of_supply(content_g, _number(row, "usage_g_day"), reserve_g)


ANSWERS = {
    "saturation_pressure_abs": lambda row: gas.saturation_bar(_number(row, "temp_C")),
    "saturated_liquid_density": lambda row: gas.liquid_kg_per_m3(_number(row, "temp_C")),
    "saturated_vapour_density": lambda row: gas.vapour_kg_per_m3(_number(row, "temp_C")),
    "critical_temperature": lambda _row: gas.CRITICAL_K - gas.KELVIN,
    "critical_pressure": lambda _row: gas.CRITICAL_BAR,
    "mass_left_when_last_liquid_boils": lambda row: gas.left_when_gauge_falls_kg(
        _number(row, "water_capacity_L"), _number(row, "temp_C")
    ),
    "contents_by_weighing": lambda row: gas.content_kg(
        _number(row, "gross_kg"), _number(row, "tare_kg")
    ),
    "days_of_supply": _days,
    "pressure_abs_10L_cylinder_vs_contents": _gauge,
    "developed_pressure_abs": _warmed,
    "max_fill_mass": lambda _row: "the program never says how much to fill: the stamp decides",
}


def _answer(row):
    """What the program says to a row, or why it says nothing."""
    return ANSWERS[row["quantity"]](row)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['quantity']}-{row['temp_C']}")
def test_each_row_that_the_program_answers(row):
    answer = _answer(row)
    expected = float(row["expected"])
    if isinstance(answer, str):
        # Nothing is answered; where a gauge has fallen the row itself must say that it did.
        if row["quantity"] == "pressure_abs_10L_cylinder_vs_contents":
            assert expected < gas.saturation_bar(20) * 0.95
        return
    kind = {row["tol_kind"]: float(row["tolerance"]) + EIGHT_FIGURES}
    assert answer == pytest.approx(expected, **kind)


def test_what_is_not_answered_is_counted():
    silent = Counter(row["quantity"] for row in ROWS if isinstance(_answer(row), str))
    assert silent == {
        "pressure_abs_10L_cylinder_vs_contents": 3,
        "developed_pressure_abs": 14,
        "max_fill_mass": 5,
    }
    assert len(ROWS) == 93


def test_a_gauge_says_nothing_until_about_a_quarter_is_left():
    """A 10 L cylinder that holds 7.5 kg when full, at 20 °C."""
    left = gas.left_when_gauge_falls_kg(10, 20) / 7.5
    assert 0.2 < left < 0.3


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda: gas.saturation_bar(31.5), "Temperature"),
        (lambda: gas.left_when_gauge_falls_kg(0), "Read it off the stamp"),
        (lambda: gas.content_kg(1.2, 1.35), "Is it this cylinder"),
        (lambda: gas.days_of_supply(500, 0), "Weigh it twice"),
    ],
)
def test_what_cannot_be_is_refused_with_words(ask, words):
    with pytest.raises(OutOfRange, match=words):
        ask()
