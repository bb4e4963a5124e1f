"""What do stocks of one item and kind teach each other?

Empirical Bayes: a first pass follows each stock from what its kind alone says; what its own
weighings added is an estimate of its use factor. The spread of these gives each stock a prior from
all its sisters, itself left out. How far the weighings missed gives the size of the day noise.
All groups at once: sums over a group are sums by number of the group.
Source: Efron and Morris 1973, JASA 68; moment estimate in the manner of DerSimonian and Laird 1986
(both from memory). Weights of the priors are assumptions of this program.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inventory.forecast import filter as kalman
from inventory.forecast.prior import (
    SHARE_CASE_N,
    SHARE_PRIOR,
    SHARE_PRIOR_N,
    UNTICKED_DONE,
    Floats,
)
from inventory.forecast.stocks import BETWEEN_SD, OWN_SD, Bools, Ints, Stocks, numbered

FIRST_PASS_WALK = 0.004
LEAST_PRECISION = 1.0
BELIEVABLE = (0.3, 3.0)
CLIP = 0.35
"""A loss in one sister must not teach the others."""
ROUNDS = 3
SPREAD_PRIOR_N = 5
NOISE_PRIOR_N = 12
NOISE_Z2_MOST, NOISE_Z2_MEAN = 4.0, 0.9205369
"""A miss counts for no more than two standard deviations, so that a loss is not taken for noise;
and the mean of min(z^2, 4) of a standard normal.
"""
NOISE_RATIO = (0.5, 2.5)
ALIKE_PRIOR_N = 100.0
ALIKE = (1 / 401, 1 / 6)
"""Doses that the usual correlation of left-out doses is worth, and what it is held within."""


@dataclass(frozen=True, slots=True)
class Taught:
    """What each of M stocks says of the use factor by itself; all (M,).

    ``is_heard`` false: it says nothing. ``squares``, ``readings``: sum of the squared innovations
    (each at most 4, over their mean when all is well, the first reading left out) and their number.
    """

    estimate: Floats
    variance: Floats
    is_heard: Bools
    squares: Floats
    readings: Floats


@dataclass(frozen=True, slots=True)
class Beliefs:
    """What is held of N stocks' use before their own weighings; mean, variance, day noise [1]."""

    mean: Floats
    variance: Floats
    noise: Floats

    def part(self, lo: int, hi: int) -> Beliefs:
        """Of the stocks ``lo`` to ``hi`` (exclusive)."""
        return Beliefs(self.mean[lo:hi], self.variance[lo:hi], self.noise[lo:hi])


def of_kind(kind: Ints) -> Beliefs:
    """Nothing known but the kind (N,)."""
    variance = OWN_SD[kind] ** 2 + BETWEEN_SD[kind] ** 2
    return Beliefs(np.ones(len(kind)), variance, np.ones(len(kind)))


def first_pass(stocks: Stocks, feed: Floats) -> Taught:
    """Follow each stock from its kind alone and take out what its own weighings said."""
    alone = of_kind(stocks.kind)
    begun = kalman.start(stocks, alone.mean, alone.variance)
    weight = plan_weight(stocks)
    m0, v0 = _use(begun, weight)
    kalman.calibrate(begun, stocks)
    noise = kalman.noise_of(stocks, alone.noise, FIRST_PASS_WALK)
    done = kalman.run(begun, feed, np.arange(len(stocks)), noise, stocks.usable)
    m1, v1 = _use(done.end, weight)
    with np.errstate(divide="ignore", invalid="ignore"):
        precision = np.where(weight.any(1), 1 / v1 - 1 / v0, 0.0)
        estimate = (m1 / v1 - m0 / v0) / precision
        is_heard = (precision > LEAST_PRECISION) & (estimate > BELIEVABLE[0])
        is_heard &= estimate < BELIEVABLE[1]
        variance = np.where(is_heard, 1 / precision, 1.0)
    counted = stocks.is_seen.T.copy()
    first, rows = kalman.first_slot(stocks.is_seen), np.arange(len(stocks))
    counted[first[first < stocks.slots], rows[first < stocks.slots]] = False
    squares = (np.minimum(done.z**2, NOISE_Z2_MOST) * counted).sum(0) / NOISE_Z2_MEAN
    return Taught(
        np.where(is_heard, estimate, 1.0),
        variance,
        np.asarray(is_heard, dtype=np.bool_),
        squares,
        counted.sum(0).astype(np.float64),
    )


def together(parts: Sequence[Taught]) -> Taught:
    """The same of several sets of stocks, one after another."""
    return Taught(
        *(
            np.concatenate([getattr(part, name) for part in parts])
            for name in ("estimate", "variance", "is_heard", "squares", "readings")
        )
    )


def beliefs(kind: Ints, group: Ints, taught: Taught) -> Beliefs:
    """The belief of each sister, itself left out; (N,) kinds and groups, ALONE without sisters."""
    kind_alone = of_kind(kind)
    own = numbered(group)
    n = int(own.max(initial=-1)) + 1
    noise = _noise(own, n, taught)[own]
    members, heard = (
        np.bincount(own, minlength=n),
        _total(own, n, taught.is_heard.astype(np.float64)),
    )
    learns = ((members > 1) & (heard > 0))[own]
    assumed_own, assumed_between = OWN_SD[kind] ** 2, BETWEEN_SD[kind] ** 2
    middle = _median(own, n, taught)[own]
    estimate = np.clip(taught.estimate, middle - CLIP, middle + CLIP)
    spread, weight = assumed_own, np.zeros(len(kind))
    for _ in range(ROUNDS):
        weight = taught.is_heard / (taught.variance + spread)
        total = _total(own, n, weight)[own] + 1 / assumed_between
        mean = (_total(own, n, weight * estimate)[own] + 1 / assumed_between) / total
        beyond = np.maximum(0.0, (estimate - mean) ** 2 - taught.variance) * taught.is_heard
        spread = (SPREAD_PRIOR_N * assumed_own + _total(own, n, beyond)[own]) / (
            SPREAD_PRIOR_N + heard[own]
        )
    weight = taught.is_heard / (taught.variance + spread)
    rest = _total(own, n, weight)[own] - weight + 1 / assumed_between
    top = _total(own, n, weight * estimate)[own] - weight * estimate + 1 / assumed_between
    return Beliefs(
        np.where(learns, top / rest, kind_alone.mean),
        np.where(learns, spread + 1 / rest, kind_alone.variance),
        noise,
    )


@dataclass(frozen=True, slots=True)
class ShareArrays:
    """Shares of planned doses done and unticked, and the variance of the share not given; (N,)."""

    done: Floats
    skipped: Floats
    unticked: Floats
    variance: Floats
    counts: Floats
    """(N, 3) doses of the whole group done, skipped, unticked."""
    worth: Floats
    """(N,) how many own doses the shares of the group are worth."""

    def part(self, lo: int, hi: int) -> ShareArrays:
        """Of the stocks ``lo`` to ``hi`` (exclusive)."""
        return ShareArrays(
            self.done[lo:hi],
            self.skipped[lo:hi],
            self.unticked[lo:hi],
            self.variance[lo:hi],
            self.counts[lo:hi],
            self.worth[lo:hi],
        )


def with_brought(learned: Beliefs, brings: Bools, brought: Floats) -> Beliefs:
    """The same with what some stocks bring with them; brought : (N, 3 or more)."""
    return Beliefs(
        np.where(brings, brought[:, 0], learned.mean),
        np.where(brings, brought[:, 1], learned.variance),
        np.where(brings, brought[:, 2], learned.noise),
    )


def group_counts(counts: Floats, group: Ints) -> Floats:
    """(N, 3) doses of a stock and its sisters with it."""
    own = numbered(group)
    n = int(own.max(initial=-1)) + 1
    return np.stack([_total(own, n, counts[:, k])[own] for k in range(3)], axis=1)


def worth(counts: Floats, group: Ints) -> Floats:
    """How many own doses the shares of its group are worth to a stock; (N,).

    Where sisters leave out alike, what all of them left out says more of each than its own record.
    Intraclass correlation of the share left out, by analysis of variance, held to the usual one by
    :data:`ALIKE_PRIOR_N` doses; counts (N, 3) of the last 120 days. 15 without sisters.
    Source: Donner 1986, International Statistical Review 54 (from memory).
    """
    own = numbered(group)
    n = int(own.max(initial=-1)) + 1
    mine, value = counts.sum(1), counts[:, 1] + (1 - UNTICKED_DONE) * counts[:, 2]
    prior = SHARE_PRIOR_N * np.array(SHARE_PRIOR)
    skipped, unticked = (_total(own, n, counts[:, k]) + prior[k] for k in (1, 2))
    total = _total(own, n, mine)
    middle = (skipped + (1 - UNTICKED_DONE) * unticked) / (total + SHARE_PRIOR_N)
    square = (skipped + (1 - UNTICKED_DONE) ** 2 * unticked) / (total + SHARE_PRIOR_N)
    said, some = mine > 0, np.maximum(mine, 1.0)
    mean = _total(own, n, value) / np.maximum(total, 1.0)
    between = _total(own, n, np.where(said, mine * (value / some - mean[own]) ** 2, 0.0))
    between /= np.maximum(square - middle**2, 1e-6)
    beyond = between - np.maximum(_total(own, n, said * 1.0) - 1, 0.0)
    doses = _total(own, n, np.where(said, (1 - mine / np.maximum(total, 1.0)[own]) * (mine - 1), 0))
    usual = 1 / (1 + SHARE_CASE_N)
    alike = (ALIKE_PRIOR_N * usual + beyond) / (ALIKE_PRIOR_N + doses)
    return np.asarray(1 / np.clip(alike, *ALIKE)[own] - 1, dtype=np.float64)


def shares_of(ticked: Bools, counts: Floats, all_of_them: Floats, worth: Floats) -> ShareArrays:
    """Shares from the counts of the last 120 days, of a stock and of its group; (N, 3) each.

    worth : (N,) see :func:`worth`.
    """
    usual = all_of_them + SHARE_PRIOR_N * np.array(SHARE_PRIOR)
    usual /= all_of_them.sum(1, keepdims=True) + SHARE_PRIOR_N
    mine = counts.sum(1)
    share = (counts + worth[:, None] * usual) / (mine + worth)[:, None]
    missed = share[:, 1] + (1 - UNTICKED_DONE) * share[:, 2]
    variance = missed * (1 - missed) / (mine + worth)
    return ShareArrays(
        np.where(ticked, share[:, 0], 1.0),
        np.where(ticked, share[:, 1], 0.0),
        np.where(ticked, share[:, 2], 0.0),
        np.where(ticked, variance, 0.0),
        all_of_them,
        worth,
    )


def plan_weight(stocks: Stocks) -> Floats:
    """Share of each line in what was given, or in what is planned ahead; (N, K) [1]."""
    given = stocks.done.sum(2) + stocks.unticked.sum(2)
    ahead = stocks.hand.sum(2) + stocks.sure.sum(2)
    given = np.where(given.sum(1, keepdims=True) > 0, given, ahead)
    total = given.sum(1, keepdims=True)
    return np.asarray(given / np.where(total > 0, total, 1.0), dtype=np.float64)


def _use(state: kalman.State, weight: Floats) -> tuple[Floats, Floats]:
    """Mean and variance of the plan-weighted factor; (N,)."""
    lines = slice(1, 1 + state.lines)
    mean = np.einsum("nk,kn->n", weight, state.mean[lines])
    variance = np.einsum("nk,kjn,nj->n", weight, state.cov[lines, lines], weight)
    return mean, variance


def _total(group: Ints, n: int, values: Floats) -> Floats:
    return np.asarray(np.bincount(group, weights=values, minlength=n), dtype=np.float64)


def _noise(group: Ints, n: int, taught: Taught) -> Floats:
    """Day noise relative to that assumed of the kind, from the innovations of each group; (n,)."""
    squares, readings = _total(group, n, taught.squares), _total(group, n, taught.readings)
    ratio = np.sqrt((NOISE_PRIOR_N + squares) / (NOISE_PRIOR_N + readings))
    return np.clip(ratio, *NOISE_RATIO)


def _median(group: Ints, n: int, taught: Taught) -> Floats:
    """Median estimate of those of each group that say something; 1 where none does; (n,)."""
    heard = np.flatnonzero(taught.is_heard)
    order = heard[np.lexsort((taught.estimate[heard], group[heard]))]
    count = np.bincount(group[order], minlength=n)
    first = np.cumsum(count) - count
    out, has = np.ones(n), count > 0
    value = taught.estimate[order]
    low, high = first + (np.maximum(count, 1) - 1) // 2, first + np.maximum(count, 1) // 2
    out[has] = (value[low[has]] + value[high[has]]) / 2
    return out
