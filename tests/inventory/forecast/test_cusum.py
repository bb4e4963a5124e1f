"""Does the sum alarm as seldom, and as soon, as published tables of run lengths say?"""

import csv
from pathlib import Path

import numpy as np
import pytest

from inventory.forecast.cusum import LIMIT, SLACK, run_length, upward

pytestmark = pytest.mark.once

# Source: tests/outside/forecast_cusum_arl.csv (see tests/outside/README.md).
TABLE = Path(__file__).parents[2] / "outside" / "forecast_cusum_arl.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"h{row['h']}-shift{row['shift_sigma']}")
def test_run_lengths_are_those_of_the_table(row):
    k, h, shift = float(row["k"]), float(row["h"]), float(row["shift_sigma"])
    up, down = run_length(shift, k, h), run_length(-shift, k, h)
    assert up == pytest.approx(float(row["computed_one_sided"]), abs=0.0006, rel=1e-5)
    both = 1 / (1 / up + 1 / down)
    assert both == pytest.approx(float(row["computed_two_sided"]), abs=0.0006, rel=1e-5)
    # The printed table rounds to three figures and was taken from memory.
    assert both == pytest.approx(float(row["montgomery_table_two_sided_from_memory"]), rel=0.005)


def test_the_table_has_all_its_rows():
    assert len(ROWS) == 20


def test_the_stated_rate_of_false_alarms_is_that_of_the_rule_itself():
    """Weighings in which nothing is wrong, invented by a seed, and the sums begun anew."""
    luck = np.random.default_rng(20260312)
    lengths = []
    for _ in range(400):
        value, n = 0.0, 0
        for z in luck.standard_normal(6000):
            n += 1
            value = max(0.0, value + float(z) - SLACK)
            if value > LIMIT:
                break
        lengths.append(n)
    assert round(run_length()) == 335
    # The sd of a mean of 400 geometric-like lengths is about 17.
    assert np.mean(lengths) == pytest.approx(run_length(), abs=3 * 335 / 20)


def test_a_climb_ends_at_zero_and_an_alarm_with_it():
    assert upward([]).count == 0
    calm = upward([0.1, -0.4, 0.3, 0.2])
    assert (calm.value, calm.crossed, calm.since) == (0.0, None, 4)
    climb = upward([0.0, 2.5, 2.5, 2.5])
    assert climb.is_over
    assert (climb.since, climb.crossed, climb.value) == (1, 3, 6.0)
    after = upward([0.0, 2.5, 2.5, 2.5, -9.0])
    assert not after.is_over
    assert after.since == 5


def test_it_sums_as_the_definition_says():
    luck = np.random.default_rng(7)
    excesses = [float(z) for z in luck.normal(0.6, 1, 50)]
    # The definition in closed form: the largest sum of a stretch that ends here, or 0.
    stretches = [sum(z - SLACK for z in excesses[n:]) for n in range(len(excesses))]
    assert upward(excesses).value == pytest.approx(max(0.0, *stretches))
