"""Exact arithmetic against the table of check values, at the tolerance stated in each row.

Source: tests/outside/job_check_values.json; basis of each value in its row (calculated from the
stated inputs; rates common practice, no source).
"""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest

from gallery_ops.kernel.values.limits import OutOfRange
from inventory.forecast import press, weighing, whole_days
from inventory.forecast.days import lay_out
from inventory.forecast.reorder import reorder_point
from tests.inventory.forecast.cases import a_case, a_line

ROWS = {
    row["id"]: row
    for row in json.loads(
        (Path(__file__).parents[2] / "outside" / "job_check_values.json").read_text("utf-8")
    )
}
FLEET_DOSE_UL, FLEET_FOOD_MG = 196_000, 5_795
TEXTBOOK = reorder_point(196, 15, 7, 3, 7, z=1.645)

FLEET_BOTTLE = a_case(plan=(a_line(per_day=FLEET_DOSE_UL / 1_000),))

OURS: dict[str, float | int | Fraction] = {
    "D1": Fraction(press.full_dose_ul(60_000_000, 50), 1_000),
    "D2": press.presses_for(3_000, 1_000),
    "D3": whole_days.whole_days(500_000, 3_000),
    "D4": whole_days.whole_days(500_000, 3_000, 5_000),
    "D7": float(lay_out(FLEET_BOTTLE).ahead_hand[:, :30].sum()) / 1_000,
    "D8": whole_days.whole_days(5_000_000, FLEET_DOSE_UL),
    "D9": Fraction(press.ul_per_press(20, 19_400, 1_050), 1_000),
    "D10": Fraction(weighing.volume_ul(weighing.net_mg(431_000, 65_000), 1_050), 1_000),
    "C1": whole_days.whole_days(500_000, 2_500),
    "C2": whole_days.whole_days(500_000, 2_500, whole_days.left_at(500_000, 5)),
    "C6": whole_days.whole_days(weighing.net_mg(1_560_000, 1_350_000), 2_500),
    "F2": whole_days.days_until_empty(100_000, whole_days.use_per_day(FLEET_FOOD_MG, 6)),
    "F3": whole_days.days_until_empty(250_000, whole_days.use_per_day(FLEET_FOOD_MG, 6)),
    "R1": TEXTBOOK.safety,
    "R2": TEXTBOOK.point,
}


@pytest.mark.parametrize("row_id", sorted(OURS))
def test_row_of_the_check_values(row_id: str) -> None:
    row = ROWS[row_id]
    assert float(OURS[row_id]) == pytest.approx(row["expect"], rel=row["rel_tol"], abs=0)


def test_the_textbook_reorder_point_to_the_hundredth() -> None:
    # 196 x 14 + 1.645 x sqrt(14 x 15^2 + 196^2 x 3^2), by hand
    assert round(TEXTBOOK.point, 2) == 3715.66
    assert round(TEXTBOOK.safety, 2) == 971.66


def test_three_presses_give_what_the_pump_was_measured_at() -> None:
    measured = press.ul_per_press(20, 19_400, 1_050)
    assert measured == 924
    assert press.given_by(3, measured) == 2_772


def test_above_fifteen_millilitres_a_cup_is_used() -> None:
    # common practice, no source
    assert press.instruction(15_000, 1_000).presses == 15
    assert press.instruction(15_001, 1_000).presses is None


@pytest.mark.parametrize(
    ("measured", "instructed", "off"),
    [(924, 1_000, True), (950, 1_000, False), (949, 1_000, True), (1_051, 1_000, True)],
)
def test_a_press_is_off_by_more_than_five_percent(
    measured: int, instructed: int, off: bool
) -> None:
    assert press.is_off(measured, instructed) is off


def test_a_scale_a_little_below_empty_means_empty_and_more_is_refused() -> None:
    assert weighing.net_mg(1_340_000, 1_350_000) == 0
    with pytest.raises(OutOfRange) as refused:
        weighing.net_mg(1_329_999, 1_350_000)
    assert refused.value.field == "gross"
    assert "1330 g" in refused.value.allowed
    assert refused.value.remedy


def test_more_than_a_full_container_is_refused() -> None:
    weighing.check_not_above_full(550_000, 500_000)
    with pytest.raises(OutOfRange, match="Regulator on"):
        weighing.check_not_above_full(550_001, 500_000)


@pytest.mark.parametrize("density", [0, 299, 3_001, -1_050])
def test_an_impossible_density_is_refused(density: int) -> None:
    with pytest.raises(OutOfRange, match="density"):
        weighing.volume_ul(366_000, density)
    with pytest.raises(OutOfRange, match="density"):
        press.ul_per_press(20, 19_400, density)
