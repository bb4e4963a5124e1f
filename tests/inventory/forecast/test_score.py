"""Scores of projections against closed forms and counted values.

Sources: CRPS of a normal distribution in closed form, sd [z (2 Phi(z) - 1) + 2 phi(z) - 1/sqrt(pi)]
(Gneiting and Raftery 2007, JASA 102, part 4.2, from memory); binomial quantiles of scipy.
"""

from __future__ import annotations

from math import exp, pi, sqrt
from statistics import NormalDist

import pytest
from scipy.stats import binom

from inventory.forecast.score import crps, luck_of, pit, ran_out_after, score, shared_out
from inventory.forecast.types import LEVELS


def closed_form(mean: float, sd: float, truth: float) -> float:
    z = (truth - mean) / sd
    return sd * (
        z * (2 * NormalDist().cdf(z) - 1) + 2 * exp(-z * z / 2) / sqrt(2 * pi) - 1 / sqrt(pi)
    )


@pytest.mark.parametrize("truth", [12.0, 25.0, 30.0, 33.5, 50.0])
def test_dense_levels_give_the_score_in_closed_form(truth: float) -> None:
    levels = [(n + 0.5) / 5_000 for n in range(5_000)]
    normal = NormalDist(30.0, 6.0)
    found = crps([normal.inv_cdf(p) for p in levels], truth, levels)
    assert found == pytest.approx(closed_form(30.0, 6.0, truth), rel=2e-3)


def test_nineteen_levels_are_twice_the_mean_pinball_loss() -> None:
    # all nineteen at 10, truth 14: the loss of level p is p x 4, their mean 0.5 x 4, twice that 4
    assert crps([10.0] * 19, 14.0) == pytest.approx(4.0)
    # truth 6: (1 - p) x 4, the same mean
    assert crps([10.0] * 19, 6.0) == pytest.approx(4.0)
    with pytest.raises(ValueError, match="18 quantiles"):
        crps([10.0] * 18, 6.0)


def test_pit_of_a_truth_drawn_from_the_range_itself_is_its_level() -> None:
    normal = NormalDist(30.0, 6.0)
    quantiles = [normal.inv_cdf(p) for p in LEVELS]
    for level, quantile in zip(LEVELS, quantiles, strict=True):
        assert pit(quantiles, quantile) == pytest.approx(level)
    assert pit(quantiles, -100.0) == pytest.approx(0.025)
    assert pit(quantiles, 100.0) == pytest.approx(0.975)
    assert pit([5.0] * 19, 5.0) == pytest.approx(0.5)


def test_inside_is_between_p10_and_p90_and_early_is_before_the_truth() -> None:
    quantiles = [float(n) for n in range(1, 20)]
    inside, late = score(quantiles, 12.0), score(quantiles, 1.5)
    assert (inside.is_inside, inside.early) == (True, 2.0)
    assert (late.is_inside, late.early) == (False, -8.5)


@pytest.mark.parametrize(("chance", "tries"), [(0.8, 120), (0.1, 40), (0.5, 7), (0.9, 2_000)])
def test_the_band_of_luck_is_binomial(chance: float, tries: int) -> None:
    lo, hi = luck_of(chance, tries)
    wanted = binom.ppf([0.025, 0.975], tries, chance) / tries
    assert [lo, hi] == pytest.approx(list(wanted))


def test_what_a_measurement_found_is_shared_out() -> None:
    assert sum(shared_out(-2.0, [3.0, 1.0, 0.0])) == pytest.approx(2.0)
    assert shared_out(1.0, []) == []
    assert ran_out_after(9.0, [3.0, 3.0, 0.0, 3.0, 5.0]) == 4.0
