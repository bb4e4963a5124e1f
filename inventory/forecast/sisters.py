"""What do stocks of one item and kind teach each other?

Empirical Bayes: a first pass follows each stock from what its kind alone says; what its own
weighings added is an estimate of its use factor. The spread of these gives each stock a prior from
all its sisters, itself left out. How far the weighings missed gives the size of the day noise.
Source: Efron and Morris 1973, JASA 68; moment estimate in the manner of DerSimonian and Laird 1986
(both from memory). Weights of the priors are assumptions of this program.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import sqrt
from statistics import median

import numpy as np

from inventory.forecast.days import Days, lay_out
from inventory.forecast.posterior import Posterior, follow
from inventory.forecast.prior import ASSUMED, Belief, Floats, factor_prior, of_kind, shares
from inventory.forecast.types import USUAL, Case, Options

FIRST_PASS_WALK = 0.004
LEAST_PRECISION = 1.0
BELIEVABLE = (0.3, 3.0)
CLIP = 0.35
"""A loss in one sister must not teach the others."""
ROUNDS = 3
SPREAD_PRIOR_N = 5
NOISE_PRIOR_N = 12
NOISE_Z2_MOST = 9.0
NOISE_RATIO = (0.5, 2.5)

Key = tuple[str, str]
Learned = dict[Key, tuple[Days, Belief]]


@dataclass(frozen=True, slots=True)
class Taught:
    """What one stock says of the use factor: estimate and its variance."""

    estimate: float
    variance: float


def known_as(case: Case) -> Key:
    """One stock may be asked for alone and as a place of a pool; it teaches once."""
    return case.group, case.case_id


def learn(cases: Iterable[Case], options: Options = USUAL) -> Learned:
    """Days, shares and belief of each stock, from its sisters; a stock without a group has none."""
    if not options.sisters:
        return {known_as(case): (lay_out(case), of_kind(case.kind)) for case in cases}
    groups: dict[Key, dict[Key, Case]] = {}
    for case in cases:
        name = (case.group or f"alone:{case.case_id}", case.kind)
        groups.setdefault(name, {})[known_as(case)] = case
    out: Learned = {}
    for members in groups.values():
        out |= _learn_group([members[key] for key in sorted(members)])
    return out


def _learn_group(sisters: list[Case]) -> Learned:
    laid = _with_group_shares(sisters, [lay_out(case) for case in sisters])
    passed = [follow(c, d, FIRST_PASS_WALK) for c, d in zip(sisters, laid, strict=True)]
    noise = _noise([value for state in passed for value in state.z[1:]])
    taught = [_taught(*one) for one in zip(sisters, laid, passed, strict=True)]
    believed = beliefs(sisters[0], taught, noise)
    return {known_as(c): (d, b) for c, d, b in zip(sisters, laid, believed, strict=True)}


def beliefs(case: Case, taught: list[Taught | None], noise: float) -> list[Belief]:
    """The belief of each sister, itself left out. ``taught`` None: it says nothing."""
    assumed, known = ASSUMED[case.kind], [t for t in taught if t]
    if len(taught) == 1 or not known:
        return [replace(of_kind(case.kind), noise=noise) for _ in taught]
    middle = median(t.estimate for t in known)
    clipped = [
        t and replace(t, estimate=min(max(t.estimate, middle - CLIP), middle + CLIP))
        for t in taught
    ]
    heard = [t for t in clipped if t]
    prior = 1 / assumed.between_sd**2
    spread = assumed.own_sd**2
    for _ in range(ROUNDS):
        weight = [1 / (t.variance + spread) for t in heard]
        top = sum(w * t.estimate for w, t in zip(weight, heard, strict=True)) + prior
        mean = top / (sum(weight) + prior)
        beyond = sum(max(0.0, (t.estimate - mean) ** 2 - t.variance) for t in heard)
        spread = (SPREAD_PRIOR_N * assumed.own_sd**2 + beyond) / (SPREAD_PRIOR_N + len(heard))
    weights = [1 / (t.variance + spread) if t else 0.0 for t in clipped]
    out = []
    for k in range(len(taught)):
        total, top = prior, prior
        for j, one in enumerate(clipped):
            if one and j != k:
                total, top = total + weights[j], top + weights[j] * one.estimate
        out.append(Belief(top / total, spread + 1 / total, noise))
    return out


def plan_weight(days: Days) -> Floats:
    """Share of each line in what was given, or in what is planned ahead; (K,) [1]."""
    given = days.done.sum(1) + days.unticked.sum(1)
    if not given.sum():
        given = (days.ahead_hand + days.ahead_sure).sum(1)
    return np.asarray(given / (given.sum() or 1.0), dtype=np.float64)


def _taught(case: Case, days: Days, state: Posterior) -> Taught | None:
    weight = plan_weight(days)
    if not weight.sum():
        return None
    mean, cov = factor_prior(case.kind, days.is_feeder, of_kind(case.kind))
    lines = len(weight)
    m0, v0 = float(weight @ mean[:lines]), float(weight @ cov[:lines, :lines] @ weight)
    own = slice(1, 1 + lines)
    m1, v1 = float(weight @ state.mean[own]), float(weight @ state.cov[own, own] @ weight)
    precision = 1 / v1 - 1 / v0
    if precision <= LEAST_PRECISION:
        return None
    estimate = (m1 / v1 - m0 / v0) / precision
    if not BELIEVABLE[0] < estimate < BELIEVABLE[1]:
        return None
    return Taught(estimate, 1 / precision)


def _noise(z: list[float]) -> float:
    """Day noise relative to that assumed of the kind, from the innovations of the group."""
    squares = sum(min(value * value, NOISE_Z2_MOST) for value in z)
    ratio = sqrt((NOISE_PRIOR_N + squares) / (NOISE_PRIOR_N + len(z)))
    return min(max(ratio, NOISE_RATIO[0]), NOISE_RATIO[1])


def _with_group_shares(sisters: list[Case], laid: list[Days]) -> list[Days]:
    counted = [days.counts for days in laid]
    done, skipped, unticked = (sum(column) for column in zip(*counted, strict=True))
    group = (done, skipped, unticked)
    return [
        replace(days, shares=shares(days.counts, group)) if case.ticked else days
        for case, days in zip(sisters, laid, strict=True)
    ]
