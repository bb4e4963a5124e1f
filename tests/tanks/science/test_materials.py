"""The sums of a build, against worked examples that were made outside this program.

P1 and H5: ``tests/outside/job_check_values.json`` (worked out there from stated inputs). The rates
of plants are common practice, no source; what is checked here is the arithmetic on them.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gallery_ops.kernel.values.limits import OutOfRange
from tanks.science import materials
from tanks.science.filling import Glass, bed_l

S60 = Glass(600, 300, 360, 6)
ROWS = json.loads(
    (Path(__file__).parents[2] / "outside" / "job_check_values.json").read_text("utf-8")
)


def outside(key: str) -> dict[str, float]:
    """The row of that name, wherever the file keeps its rows."""
    rows = ROWS if isinstance(ROWS, list) else next(v for v in ROWS.values() if _is_rows(v))
    return next(row for row in rows if row["id"] == key)


def _is_rows(value: object) -> bool:
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict)


def test_ground_as_worked_out_elsewhere() -> None:
    row = outside("P1")
    assert bed_l(S60, 30, 80) == pytest.approx(row["expect"], rel=row["rel_tol"])
    assert materials.ground(S60, 30, 80, 9_000).count == 2


def test_cups_on_a_smaller_ground_as_worked_out_elsewhere() -> None:
    """Six cups on 60 x 30 cm are 720 cm2 at 120 each; on 45 x 27 cm they are 486 cm2."""
    assert materials.cover(720 * 0.675, 120, "cup").count == outside("H5")["expect"]


@pytest.mark.parametrize(
    ("percent", "each", "unit", "count"),
    [(40, 120, "cup", 6), (20, 60, "pot", 6)],
)
def test_cups_and_pots_of_the_sixty(percent: int, each: int, unit: str, count: int) -> None:
    """1,693 cm2: 40 % carpet is 6 cups at 120, 20 % midground 6 pots at 60 (common practice)."""
    area = materials.share_cm2(S60, percent)
    assert materials.cover(area, each, unit).count == count


@pytest.mark.parametrize(("each", "stems", "pots"), [(4, 106, 11), (6, 71, 8)])
def test_stems_dense_and_loose(each: int, stems: int, pots: int) -> None:
    """25 % of the ground: 106 stems in 11 pots when dense, 71 in 8 when loose."""
    found = materials.stems(materials.share_cm2(S60, 25), each, 10)
    assert found.count == pots
    assert f"= {stems}, 10 a pot" in found.why


def test_one_bag_fewer_for_two_millimetres_of_slope() -> None:
    less = materials.lower_by_mm(S60, 30, 80, 9_000)
    assert less == 2
    assert bed_l(S60, 30 - less, 80 - less) <= 9.0 < bed_l(S60, 30, 80)


@given(
    front=st.integers(0, 150),
    back=st.integers(1, 150),
    bag=st.sampled_from([3_000, 5_000, 9_000, 18_000]),
)
def test_bags_always_suffice_and_none_is_too_many(front: int, back: int, bag: int) -> None:
    litres = bed_l(S60, front, back)
    count = materials.ground(S60, front, back, bag).count
    assert count * bag / 1_000 >= litres - 1e-6
    assert (count - 1) * bag / 1_000 < litres


@given(area=st.floats(1, 60_000), each=st.integers(1, 500))
def test_what_covers_an_area_suffices_and_none_is_too_many(area: float, each: int) -> None:
    count = materials.cover(area, each, "cup").count
    assert count * each >= area - each * 1e-6
    assert (count - 1) * each < area


@given(count=st.integers(0, 10**6), cents=st.integers(0, 10**6))
def test_stone_by_the_gram_costs_to_the_nearest_cent(count: int, cents: int) -> None:
    """Half up in whole numbers: never more than half a cent off."""
    found = materials.cost_cents(count, "g", cents)
    assert abs(found * 1_000 - count * cents) * 2 <= 1_000


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: materials.share_cm2(S60, 0),
        lambda: materials.share_cm2(S60, 101),
        lambda: materials.cover(100, 0, "cup"),
        lambda: materials.stems(100, 4, 0),
        lambda: materials.ground(S60, 400, 80, 9_000),
        lambda: materials.ground(S60, 30, 80, 0),
        lambda: materials.spare(-1),
        lambda: materials.stone(64.8, 0),
    ],
)
def test_what_cannot_be_is_refused_with_what_is_allowed(wrong: object) -> None:
    with pytest.raises(OutOfRange) as no:
        wrong()  # type: ignore[operator]
    assert no.value.allowed
