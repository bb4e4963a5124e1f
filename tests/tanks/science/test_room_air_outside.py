"""The air of a room, row by row against sums made and checked elsewhere."""

import csv
from pathlib import Path

import pytest

from gallery_ops.kernel.values.limits import OutOfRange
from tanks.science import room_air

pytestmark = pytest.mark.once

OUTSIDE = Path(__file__).parents[2] / "outside"


def _rows(name):
    return list(csv.DictReader((OUTSIDE / name).read_text(encoding="utf-8").splitlines()))


# Source: tests/outside/co2_room.csv; the program's gas density differs from the ideal gas of those
# rows by 0.57 %, which the tolerance of "added_fraction_simple" (0.6 %) allows.
ROWS = _rows("co2_room.csv")
IDEAL_OVER_REAL = 0.0058


def _answer(row):
    number = {key: float(row[key]) for key in row if _is_number(row[key])}
    air = {"degc": number.get("temp_C", 20.0), "kpa": number.get("pressure_kPa", 101.325)}
    release = number.get("release_kg", 0) * 1000
    outdoor = number.get("background_ppm", room_air.OUTDOOR_PPM)
    match row["quantity"]:
        case "added_fraction_simple":
            return room_air.added_ppm(release, number["room_m3"], **air)
        case "peak_with_displacement":
            return room_air.peak_ppm(release, number["room_m3"], outdoor, **air)
        case "conc_after_time":
            return room_air.ppm_after(
                number["start_ppm"], number["time_h"], number["ach_per_h"], outdoor
            )
        case "time_to_fall_to_limit":
            # The rows begin with the ideal gas; the same start is handed in here.
            ideal = release / 44.009 * 8.314462618 * 293.15 / 101_325
            start = ideal / number["room_m3"] * 1e6 + outdoor
            return room_air.hours_until(number["limit_ppm"], start, number["ach_per_h"], outdoor)
        case "ppm_to_mg_m3":
            return room_air.mg_per_m3(number["limit_ppm"], **air)
    raise AssertionError(row["quantity"])


def _is_number(text):
    try:
        float(text)
    except ValueError:
        return False
    return True


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['quantity']}-{row['expected']}")
def test_each_row(row):
    tolerance = float(row["tolerance"]) + 5e-8  # the table is printed to eight figures
    if row["quantity"] == "peak_with_displacement":
        tolerance += IDEAL_OVER_REAL
    assert _answer(row) == pytest.approx(float(row["expected"]), rel=tolerance)


def test_no_row_is_left_out():
    assert len(ROWS) == 39


def test_displacement_has_the_same_form_as_the_rows():
    """Fed with the ideal gas volume of the row, the formula gives the row itself."""
    row = next(r for r in ROWS if r["quantity"] == "peak_with_displacement")
    ideal_g = 2000 * (18219.847 / room_air.added_ppm(2000, 60))
    assert room_air.peak_ppm(ideal_g, 60, 420) == pytest.approx(float(row["expected"]), rel=1e-4)


def test_the_two_posts_stand_at_the_limits_of_the_table():
    # Source: tests/outside/co2_exposure_limits.csv.
    limits = {row["quantity"]: float(row["expected"]) for row in _rows("co2_exposure_limits.csv")}
    assert limits["UK WEL long-term"] == room_air.EIGHT_HOURS_PPM
    assert limits["UK WEL short-term"] == room_air.FIFTEEN_MINUTES_PPM
    assert min(limits.values()) == room_air.EIGHT_HOURS_PPM, "no stricter row is passed over"


def test_warmer_and_thinner_air_raise_the_number():
    usual = room_air.added_ppm(2000, 60)
    assert room_air.added_ppm(2000, 60, degc=30) > usual
    assert room_air.added_ppm(2000, 60, kpa=95) > usual
    assert room_air.hours_until(5000, 45_000, 0) == float("inf")
    assert room_air.hours_until(5000, 4_000, 2) == 0


@pytest.mark.parametrize("air", [{"degc": 60}, {"degc": -30}, {"kpa": 20}, {"kpa": 1013}])
def test_air_that_cannot_be_is_refused_with_words(air):
    with pytest.raises(OutOfRange, match="not allowed"):
        room_air.added_ppm(2000, 60, **air)
