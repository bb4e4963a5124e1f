"""The air of a room: its posts, its airing, a leak that goes on (rows: test_outside_rows)."""

import csv
from pathlib import Path

import numpy as np
import pytest

from gallery_ops.kernel.values.limits import OutOfRange
from tanks.science import room_air

pytestmark = pytest.mark.once

OUTSIDE = Path(__file__).parents[2] / "outside"


def _rows(name):
    return list(csv.DictReader((OUTSIDE / name).read_text(encoding="utf-8").splitlines()))


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


def test_a_leak_that_goes_on_settles_where_airing_takes_as_much_away():
    hours = np.array([0.0, 1.0, 24.0])
    found = room_air.ppm_over(hours, 420, 0.5, gas_g_per_h=20, volume_m3=60)
    # Source: balance of what comes and what goes; no reference needed
    level = 420 + room_air.added_ppm(20, 60) / 0.5
    assert found[0] == 420
    assert found[2] == pytest.approx(level, rel=1e-4)
    # Source: the same balance in 20,000 small steps
    ppm = 420.0
    for _ in range(20_000):
        ppm += (room_air.added_ppm(20, 60) - 0.5 * (ppm - 420)) / 20_000
    assert found[1] == pytest.approx(ppm, rel=1e-4)


def test_a_closed_room_only_fills():
    found = room_air.ppm_over(np.array([0.0, 2.0]), 420, 0, gas_g_per_h=20, volume_m3=60)
    assert found[1] - found[0] == pytest.approx(room_air.added_ppm(40, 60))


def test_a_leak_without_a_room_is_refused():
    with pytest.raises(OutOfRange, match="Measure the room first"):
        room_air.ppm_over(np.array([1.0]), 420, 1, gas_g_per_h=20)
