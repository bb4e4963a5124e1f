"""Presses against a mass balance that knows no presses: what goes in is presses x one press.

Source: tests/outside/stock_dosing.csv, own mass balance with a second route in each row. The
program gives the volume of the presses; concentration and rise are worked out here.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from inventory.forecast.press import given_by, press_sd_ul, presses_for, ul_per_press

FILE = Path(__file__).parents[2] / "outside" / "stock_dosing.csv"
ROWS = list(csv.DictReader(FILE.read_text("utf-8").splitlines()))
RISES = [row for row in ROWS if row["quantity"].startswith("dose_rise")]
NEEDED = [row for row in ROWS if row["quantity"].startswith("presses_needed")]


def rise_mg_per_l(row: dict[str, str], presses: int) -> float:
    """By mass balance, with the volume that the program says these presses give."""
    given_ml = given_by(presses, round(float(row["mL_per_press"]) * 1000)) / 1000
    mg_per_ml = float(row["salt_g"]) * 1000 * float(row["mass_fraction"]) / float(row["stock_mL"])
    return mg_per_ml * given_ml / float(row["volume_L"])


@pytest.mark.parametrize("row", RISES, ids=lambda row: row["quantity"])
def test_what_presses_raise(row: dict[str, str]) -> None:
    found = rise_mg_per_l(row, int(row["presses"]))
    assert found == pytest.approx(float(row["expected"]), rel=float(row["tolerance"]))


@pytest.mark.parametrize("row", NEEDED, ids=lambda row: row["quantity"])
def test_how_many_presses_a_rise_takes(row: dict[str, str]) -> None:
    wanted = int(row["expected"])
    assert rise_mg_per_l(row, wanted) >= float(row["target_mg_L"]) > rise_mg_per_l(row, wanted - 1)


def test_all_rows_of_the_file_are_used() -> None:
    assert (len(RISES), len(NEEDED), len(ROWS)) == (8, 8, 16)


def test_the_scale_alone_says_how_sure_a_press_is() -> None:
    # Two readings of a 1 g scale with 0.5 g of noise: sqrt(2 (0.25 + 1/12)) = 0.816 g over 20
    # presses at 1.05 g/mL is 38.9 uL. Source: JCGM 100:2008, 4.3.7 for the step; the rest by hand.
    assert press_sd_ul(20, 1_050, 500, 1_000) == pytest.approx(38.88, abs=0.01)
    assert press_sd_ul(20, 1_050, 5, 10) < 1
    assert press_sd_ul(200, 1_050, 500, 1_000) == pytest.approx(3.888, abs=0.001)


def test_three_presses_of_a_measured_pump() -> None:
    # 19.4 g of 20 presses at 1.05 g/mL are 0.924 mL each, so three give 2.772 mL. Source: the
    # divisions.
    measured = ul_per_press(20, 19_400, 1_050)
    assert (measured, given_by(3, measured), presses_for(3_000, measured)) == (924, 2_772, 3)
