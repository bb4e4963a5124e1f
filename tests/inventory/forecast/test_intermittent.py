"""Pieces asked for now and then.

Source of the figures: tests/outside/forecast_worked_example.json, case ``pieces``; own calculation
by scalar formulas, checked against a second implementation; tolerance 1e-6.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from inventory.forecast import intermittent
from inventory.forecast.engine import project
from inventory.forecast.read import case_from
from inventory.forecast.types import Event

EXAMPLE = json.loads(
    (Path(__file__).parents[2] / "outside" / "forecast_worked_example.json").read_text("utf-8")
)
CASE = case_from(EXAMPLE["pieces"])
EXPECT = EXAMPLE["expect"]


def test_figures_of_the_worked_example() -> None:
    found = intermittent.asked(CASE)
    assert found.with_demand == pytest.approx(EXPECT["pieces_a"], abs=1e-6)
    assert found.without == pytest.approx(EXPECT["pieces_b"], abs=1e-6)
    assert found.stock == EXPECT["pieces_stock"]
    out_by = intermittent.out_by(CASE, found)
    assert out_by[60] == pytest.approx(EXPECT["pieces_out_by_60"], abs=1e-6)


def test_the_projection_has_an_order_day_and_no_factor() -> None:
    (found,) = project([CASE])
    assert found.factor is None
    assert found.level == 5
    assert found.order_by is not None
    assert found.order_by <= found.quantile(0.1)
    assert list(found.quantiles) == sorted(found.quantiles)


def test_more_pieces_last_longer_and_none_are_gone_now() -> None:
    def with_count(pieces: int) -> float:
        seen = tuple(replace(o, value=float(pieces)) for o in CASE.observations)
        return project([replace(CASE, observations=seen)])[0].quantile(0.5)

    lasting = [with_count(pieces) for pieces in (3, 4, 8, 20, 60)]
    assert lasting == sorted(lasting)
    assert lasting[0] == 0.0


def test_booked_demand_ahead_is_taken_on_its_day() -> None:
    day = CASE.as_of + timedelta(days=10)
    booked = replace(CASE, events=(Event(day, "decant_out", -5.0),))
    assert project([booked])[0].quantiles[-1] <= 10
    assert project([CASE])[0].quantiles[-1] > 10
