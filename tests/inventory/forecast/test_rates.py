"""Rates of pieces asked for now and then.

Sources: tests/outside/forecast_checks.csv (statsforecast 2.1.1 on series J06; class cut-offs of
Syntetos and Boylan 2005) and tests/outside/forecast_worked_example.json, case ``pieces``.
"""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from inventory.forecast import rates

OUTSIDE = Path(__file__).parents[2] / "outside"
CHECKS = {
    row["topic"]: row
    for row in csv.DictReader((OUTSIDE / "forecast_checks.csv").read_text("utf-8").splitlines())
}
J06 = [
    int(row["Scripts"])
    for row in csv.DictReader((OUTSIDE / "forecast_j06.csv").read_text("utf-8").splitlines())
]
EXAMPLE = json.loads((OUTSIDE / "forecast_worked_example.json").read_text("utf-8"))
PIECES = EXAMPLE["pieces"]["demand"]


@pytest.mark.parametrize(
    ("topic", "ours"),
    [
        ("Croston classic J06", rates.croston(J06)),
        ("SBA J06", rates.sba(J06)),
        ("TSB J06", rates.tsb(J06)),
    ],
)
def test_rate_of_the_published_series(topic: str, ours: float) -> None:
    row = CHECKS[topic]
    expected = float(row["published_or_reference"])
    assert ours == pytest.approx(expected, abs=float(row["tolerance"]))


def test_the_series_is_the_one_of_the_table() -> None:
    with_demand = sum(n > 0 for n in J06)
    assert f"{sum(J06)} / {with_demand}" == CHECKS["Series J06"]["computed_here"]


@pytest.mark.parametrize("name", ["croston", "sba", "tsb"])
def test_rate_of_the_worked_example(name: str) -> None:
    ours = getattr(rates, name)(PIECES)
    assert ours == pytest.approx(EXAMPLE["expect"][f"pieces_{name}"], abs=1e-6)


def test_class_of_the_published_series() -> None:
    interval, variation = rates.spread_of(J06)
    told = CHECKS["J06 class"]["computed_here"]
    assert f"ADI {interval:.4f}, CV2 {variation:.4f} -> {rates.demand_class(J06)}" == told


@pytest.mark.parametrize(
    ("demand", "told"),
    [
        ([1, 1, 1, 1], "smooth"),
        ([1, 9, 1, 1], "erratic"),
        ([1, 0, 1, 0], "intermittent"),
        ([1, 0, 9, 0, 1, 0], "lumpy"),
        ([0, 0], "none"),
        ([], "none"),
    ],
)
def test_classes(demand: list[int], told: str) -> None:
    assert rates.demand_class(demand) == told


def test_the_rate_shown_is_the_one_that_fits_the_class() -> None:
    assert rates.rate_of([2, 2, 2]) == rates.Rate(2.0, "mean", "smooth")
    assert rates.rate_of(PIECES).method == "SBA"
    assert rates.rate_of([*PIECES, *[0] * 40]).method == "TSB"
    assert rates.rate_of([0, 0, 0]) == rates.Rate(0.0, "mean", "none")
    assert rates.rate_of([]).per_day == 0.0


def test_only_tsb_decays_while_nothing_is_asked_for() -> None:
    longer = [*PIECES, *[0] * 40]
    assert rates.sba(longer) == rates.sba(PIECES)
    assert rates.tsb(longer) < 0.05 * rates.tsb(PIECES)
