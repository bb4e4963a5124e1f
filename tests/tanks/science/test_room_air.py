"""What a cylinder does to the air of a room, against a figure worked out by hand."""

import json
from pathlib import Path

import pytest

from gallery_ops.kernel.values.limits import OutOfRange
from tanks.science.room_air import EIGHT_HOURS_PPM, FIFTEEN_MINUTES_PPM, added_ppm

OUTSIDE = Path(__file__).parents[2] / "outside"
# Source: tests/outside/job_check_values.json, row C7 (gas density from memory, as it says).
C7 = next(
    row for row in json.loads((OUTSIDE / "job_check_values.json").read_text()) if row["id"] == "C7"
)


def test_two_kilograms_in_sixty_cubic_metres():
    assert added_ppm(2000, 60) == pytest.approx(C7["expect"], rel=C7["rel_tol"])
    assert added_ppm(2000, 60) > FIFTEEN_MINUTES_PPM > EIGHT_HOURS_PPM


def test_twice_the_room_is_half_the_number():
    assert added_ppm(500, 120) == pytest.approx(added_ppm(500, 60) / 2)


def test_a_room_without_air_and_negative_gas_are_refused_with_words():
    with pytest.raises(OutOfRange, match="Measure the room first"):
        added_ppm(500, 0)
    with pytest.raises(OutOfRange, match="Weigh the cylinder"):
        added_ppm(-1, 60)
