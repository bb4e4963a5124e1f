"""When is the usable content gone: a distribution, never a date.

``P(out by day t) = Phi(-mean(t)/sd(t))`` of the content left if the plan ahead is given at the
learned factors, made non-decreasing by a running maximum; several speeds of drift are mixed by
their evidence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inventory.forecast.days import AHEAD_DAYS, Days
from inventory.forecast.posterior import Posterior
from inventory.forecast.prior import Floats
from inventory.forecast.types import LEVELS, Case


@dataclass(frozen=True, slots=True)
class Left:
    """Mean and variance of the content left at the end of day 0, 1, .. AHEAD_DAYS;
    (AHEAD_DAYS+1,).
    """

    mean: Floats
    variance: Floats

    def __add__(self, other: Left) -> Left:
        """The sum of two stocks that know nothing of each other."""
        return Left(self.mean + other.mean, self.variance + other.variance)

    def with_reserve(self, amount: float, sd: float) -> Left:
        """With an amount beside it that nobody draws from yet."""
        return Left(self.mean + amount, self.variance + sd**2)

    def out_by(self) -> Floats:
        """P(content gone by the end of day t), not falling; (AHEAD_DAYS+1,) [1]."""
        from scipy.special import ndtr

        chance = ndtr(-self.mean / np.sqrt(np.maximum(self.variance, 1e-18)))
        return np.maximum.accumulate(chance)


def content_ahead(case: Case, days: Days, state: Posterior) -> Left:
    """Content left day by day if the plan ahead is given at the learned factors."""
    hand = _cumulated(days.ahead_hand)
    sure = _cumulated(days.ahead_sure)
    share = days.shares
    t = np.arange(AHEAD_DAYS + 1, dtype=np.float64)
    h = np.zeros((AHEAD_DAYS + 1, len(state.mean)))
    h[:, 0] = 1.0
    h[:, 1:-3] = -(share.done * hand + sure).T
    h[:, -3] = -share.unticked * hand.sum(0)
    h[:, -1] = -t
    booked, booked_var = _booked(case)
    squares_hand = _cumulated(days.ahead_hand**2).sum(0)
    squares = squares_hand + _cumulated(days.ahead_sure**2).sum(0)
    total, total_hand, eff = hand.sum(0) + sure.sum(0), hand.sum(0), share.given
    variance = ((h @ state.cov) * h).sum(1) + state.mean_factor**2 * (
        state.day_sd**2 * squares
        + eff * (1 - eff) * squares_hand
        + state.walk**2 * total**2 * t / 3
        + share.variance * total_hand**2
    )
    return Left(h @ state.mean + booked, variance + booked_var)


def matched(parts: Sequence[tuple[float, Left]]) -> Left:
    """One stock with mean and variance of a mixture; weights sum to 1."""
    mean = np.sum([w * left.mean for w, left in parts], axis=0)
    square = np.sum([w * (left.variance + left.mean**2) for w, left in parts], axis=0)
    return Left(mean, np.maximum(square - mean**2, 0.0))


def mix(parts: Sequence[tuple[float, Left]]) -> Floats:
    """Mixture of run-out chances; weights sum to 1."""
    return np.asarray(np.sum([w * left.out_by() for w, left in parts], axis=0), dtype=np.float64)


def quantiles(out_by: Floats, horizon: int) -> tuple[float, ...]:
    """Days at which the chance reaches each of :data:`LEVELS`, linear within a day; horizon = not
    within.

    out_by : (n,) chance at the end of day 0, 1, .., not falling, n > horizon.
    """
    return tuple(_quantile(out_by[: horizon + 1], level, horizon) for level in LEVELS)


def _quantile(out_by: Floats, level: float, horizon: int) -> float:
    k = int(np.searchsorted(out_by, level))
    if k == 0:
        return 0.0
    if k >= len(out_by):
        return float(horizon)
    below, above = float(out_by[k - 1]), float(out_by[k])
    return k - 1 + (level - below) / (above - below)


def _cumulated(amounts: Floats) -> Floats:
    return np.concatenate((np.zeros((len(amounts), 1)), np.cumsum(amounts, axis=1)), axis=1)


def _booked(case: Case) -> tuple[Floats, Floats]:
    """Decants booked ahead, cumulated. A receipt ahead does not count: run-out is without one."""
    mean, variance = np.zeros(AHEAD_DAYS + 1), np.zeros(AHEAD_DAYS + 1)
    for event in case.events:
        day = (event.on - case.as_of).days
        if 1 <= day <= AHEAD_DAYS and event.kind != "receipt":
            mean[day:] += event.amount
            variance[day:] += event.sd**2
    return mean, variance
