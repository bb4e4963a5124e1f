"""Three volumes of a glass, against figures worked out by hand and against the fleet's sums."""

import csv
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gallery_ops.kernel.values.limits import OutOfRange
from tanks.science.geometry import (
    inner_volume_l,
    outer_volume_l,
    volumes,
    working_volume_l,
    working_volume_ul,
)

OUTSIDE = Path(__file__).parents[2] / "outside"
# Source: tests/outside/job_check_values.json, rows V1 to V6; each names its own basis.
CHECKS = {row["id"]: row for row in json.loads((OUTSIDE / "job_check_values.json").read_text())}
# Source: tests/outside/demo_fleet.csv, an invented fleet with volumes worked out by its author.
FLEET = list(csv.DictReader((OUTSIDE / "demo_fleet.csv").read_text("utf-8").splitlines()))


def agrees(key: str, value: float) -> None:
    assert value == pytest.approx(CHECKS[key]["expect"], rel=CHECKS[key]["rel_tol"] or 1e-9)


def test_the_three_volumes_of_a_60_litre_glass():
    agrees("V1", outer_volume_l(600, 300, 360))
    agrees("V2", inner_volume_l(600, 300, 360, 6))
    agrees("V3", working_volume_l(outer_volume_l(600, 300, 360)))


def test_the_outer_volume_of_a_large_glass():
    agrees("V4", outer_volume_l(1800, 600, 600))


def test_the_fleet_sums():
    glass = [tuple(int(n) * 10 for n in row["dims_cm"].split("x")) for row in FLEET]
    agrees("V5", sum(outer_volume_l(*size) for size in glass))
    agrees("V6", sum(working_volume_l(outer_volume_l(*size)) for size in glass))


@pytest.mark.parametrize("row", FLEET, ids=lambda row: row["code"])
def test_each_tank_of_the_fleet(row):
    length, width, height = (int(n) * 10 for n in row["dims_cm"].split("x"))
    found = volumes(length, width, height, int(row["glass_mm"]))
    assert found.outer_l == pytest.approx(float(row["nominal_l"]), abs=0.005)
    assert found.inner_l == pytest.approx(float(row["internal_l"]), abs=0.006)
    assert found.working_l == pytest.approx(float(row["working_l"]), abs=0.006)


@given(st.integers(100, 3000), st.integers(100, 2000), st.integers(100, 1500), st.integers(2, 19))
def test_inner_is_less_than_outer_and_working_is_four_fifths(length, width, height, glass):
    found = volumes(length, width, height, glass)
    assert 0 < found.inner_l < found.outer_l
    assert working_volume_ul(length, width, height) == pytest.approx(
        found.working_l * 1_000_000, abs=1
    )


@pytest.mark.parametrize("size", [(0, 300, 360), (600, -1, 360), (600, 300, 0)])
def test_a_size_of_nothing_is_refused_with_words(size):
    with pytest.raises(OutOfRange, match="more than 0 mm"):
        outer_volume_l(*size)


def test_glass_that_leaves_no_room_is_refused_with_words():
    with pytest.raises(OutOfRange, match="less than half of the shortest side"):
        inner_volume_l(600, 300, 360, 150)
