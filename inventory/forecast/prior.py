"""What is assumed before anything was weighed?

All figures are assumptions of this program (own, no source), to be replaced by its own finished
containers. Method of shares: counts added to a stated prior (Dirichlet), the usual conjugate step.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.forecast.types import Kind

Floats = NDArray[np.float64]

FEEDER_LINE_SD = 0.22
UNTICKED_DONE = 0.8
"""Chance that a planned dose was given though nobody ticked it."""
UNTICKED_SD = 0.15
SHARE_PRIOR = (0.94, 0.035, 0.025)
SHARE_PRIOR_N = 60
SHARE_CASE_N = 15


@dataclass(frozen=True, slots=True)
class Assumed:
    """Standard deviations of the use factor (own, between items, between lines) and of a day's
    use.
    """

    own_sd: float
    between_sd: float
    line_sd: float
    day_sd: float

    @property
    def factor_sd(self) -> float:
        """Sd of the common use factor when nothing is known, e.g. 0.2163 for a bottle."""
        return float(np.hypot(self.own_sd, self.between_sd))


ASSUMED: dict[Kind, Assumed] = {
    "bottle": Assumed(0.12, 0.18, 0.08, 0.16),
    "can": Assumed(0.12, 0.18, 0.08, 0.16),
    "cylinder": Assumed(0.20, 0.22, 0.20, 0.125),
    "tub": Assumed(0.18, 0.18, 0.08, 0.21),
    "piece": Assumed(0.18, 0.18, 0.08, 0.21),
}


@dataclass(frozen=True, slots=True)
class Belief:
    """What is held of a stock's use before its own weighings: its kind alone, or its sisters."""

    mean: float
    """Expected common use factor [1]."""
    variance: float
    noise: float = 1.0
    """Day noise relative to that assumed of the kind [1]."""


def of_kind(kind: Kind) -> Belief:
    """Nothing known but the kind."""
    return Belief(1.0, ASSUMED[kind].factor_sd ** 2)


def factor_prior(kind: Kind, is_feeder: Floats, belief: Belief) -> tuple[Floats, Floats]:
    """Mean and covariance of the use factors f_1..f_K and of the untick factor g.

    is_feeder : (K,) float, 1 where a feeder gives the portion. Returns (K+1,) and (K+1, K+1) [1].
    """
    lines, s2 = len(is_feeder), belief.variance
    own = ASSUMED[kind].line_sd if lines > 1 else 0.0
    mean = np.append(np.full(lines, belief.mean), UNTICKED_DONE * belief.mean)
    cov = np.full((lines + 1, lines + 1), s2)
    line_sd = np.where(is_feeder > 0, FEEDER_LINE_SD, own)
    cov[:lines, :lines] += np.diag(line_sd**2)
    cov[lines, :] *= UNTICKED_DONE
    cov[:, lines] *= UNTICKED_DONE
    cov[lines, lines] += (UNTICKED_SD * belief.mean) ** 2
    return mean, cov


@dataclass(frozen=True, slots=True)
class Shares:
    """Shares of planned doses done, skipped, unticked; variance of the share not given."""

    done: float
    skipped: float
    unticked: float
    variance: float
    counted: int

    @property
    def given(self) -> float:
        """Expected share of planned doses that reach the tank."""
        return self.done + UNTICKED_DONE * self.unticked


Counts = tuple[int, int, int]
"""Planned doses done, skipped, unticked."""


def shares(own: Counts, group: Counts) -> Shares:
    """Shares from the counts of the last 120 days, of the case and of all its sisters with it [1].

    >>> round(shares((26, 1, 1), (26, 1, 1)).done, 6)
    0.93129
    """
    mine, all_of_them = np.array(own, dtype=np.float64), np.array(group, dtype=np.float64)
    n, group_n = float(mine.sum()), float(all_of_them.sum())
    usual = (all_of_them + SHARE_PRIOR_N * np.array(SHARE_PRIOR)) / (group_n + SHARE_PRIOR_N)
    share = (mine + SHARE_CASE_N * usual) / (n + SHARE_CASE_N)
    missed = float(share[1] + (1 - UNTICKED_DONE) * share[2])
    variance = missed * (1 - missed) / (n + SHARE_CASE_N)
    return Shares(float(share[0]), float(share[1]), float(share[2]), variance, int(n))


ALWAYS = Shares(1.0, 0.0, 0.0, 0.0, 0)
"""A valve or a timer gives all that is planned."""
