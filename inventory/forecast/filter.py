"""How much is left now, and how much is really used per unit planned? For many stocks at once.

A Kalman filter on the state x = [content, f_1..f_K, g, b, r]: usable content; a use factor for each
line; a factor for days that nobody ticked; the offset of the scale used less often; and r, the size
of what happened beside the plan (a steady loss per day, an amount at once, or the change of all
factors per day), 0 unless asked for.
Linear and Gaussian, so every step is a closed form; it is Bayesian regression of the weighed
content on the cumulated plan. Columns are independent: the last axis holds the stocks, or stocks
under one of several hypotheses, so that each step is one pass over memory.
Source: Durbin and Koopman, Time Series Analysis by State Space Methods, ch. 4 (from memory); noise
figures are assumptions of this program.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inventory.forecast.prior import FEEDER_LINE_SD, UNTICKED_DONE, UNTICKED_SD, Floats
from inventory.forecast.stocks import DAY_SD, LINE_SD, Bools, Ints, Stocks

SCALE_OFFSET_SD = 0.012
RECENT_READINGS = 20
SHOCK_Z = 4.0
SHOCK_SD = 0.25
TWICE_MEAN, TWICE_VAR = 0.3, 0.21
"""A doubled tick is more often a doubled record than a doubled dose."""
LEAST_SPREAD = 1e-12
(
    UNTICKED, DAYS, SQUARES, OTHER_SQUARES, DRIFTING, BOOKED, BOOKED_VAR,
    CONTENT, VARIANCE, OTHER_SCALE, IS_SEEN, LOSS_DAYS, TRENDING,
) = range(13)  # fmt: skip
ROWS = 13
"""Rows of a feed before those of the lines."""


@dataclass(slots=True)
class State:
    """What is held of M columns: mean (d, M), covariance (d, d, M), log evidence (M,)."""

    mean: Floats
    cov: Floats
    log_evidence: Floats

    @property
    def lines(self) -> int:
        """Number of plan lines K = d - 4."""
        return len(self.mean) - 4

    @property
    def mean_factor(self) -> Floats:
        """Plain mean of the factors (M,); 1 when nothing is planned."""
        lines = self.lines
        if not lines:
            return np.ones(self.mean.shape[1])
        total: Floats = self.mean[1].copy()
        for k in range(2, lines + 1):
            total += self.mean[k]
        return np.asarray(total / lines, dtype=np.float64) if lines > 1 else total

    def pick(self, columns: Ints) -> State:
        """A copy of some columns."""
        return State(
            np.take(self.mean, columns, axis=1),
            np.take(self.cov, columns, axis=2),
            np.take(self.log_evidence, columns),
        )


@dataclass(frozen=True, slots=True)
class Noise:
    """Of M columns: squared relative sd of a day's use, and squared drift per day."""

    day: Floats
    walk: Floats


@dataclass(frozen=True, slots=True)
class Extra:
    """What a step takes in besides the feed, each (M,) or absent."""

    loss: Floats | None = None
    """How many times r goes from the content."""
    content: Floats | None = None
    variance: Floats | None = None
    misread: Floats | None = None
    """1 where the reading shows r more than there is."""


PLAIN = Extra()


def feed_of(stocks: Stocks) -> Floats:
    """All that happens before each reading and after the last: (R+1, ROWS+K, N).

    Rows are plan that nobody ticked, days, sums of squared daily amounts, squared amounts of
    unticked and doubled days by their variance, (plan)^2 days/3, bookings, their variance, the
    reading with its variance and scale, 1 if there is one, days of a given loss, plan times days
    before the end of ``as_of`` (below 0; of a given loss its days); then the ticked plan of each
    line.
    """
    n, r, lines = len(stocks), stocks.slots, stocks.lines
    start = (stocks.history - stocks.past)[:, None]
    edges = np.concatenate((start, stocks.seen_at, np.full((n, 1), stocks.history)), axis=1)
    edges = np.maximum.accumulate(edges, axis=1)
    out = np.zeros((r + 1, ROWS + lines, n))
    done_line = _between(stocks.done, edges)
    twice = _between(stocks.twice, edges) if stocks.twice.any() else np.zeros_like(done_line)
    out[:, ROWS:] = (done_line + TWICE_MEAN * twice).transpose(2, 1, 0)
    unticked = _between(stocks.unticked.sum(1, keepdims=True), edges)[:, 0]
    days = np.diff(edges, axis=1).astype(np.float64)
    out[:, UNTICKED] = unticked.T
    out[:, DAYS] = days.T
    out[:, SQUARES] = _squares(stocks.done, edges).T
    out[:, OTHER_SQUARES] = (
        UNTICKED_DONE * (1 - UNTICKED_DONE) * _squares(stocks.unticked, edges)
        + TWICE_VAR * _squares(stocks.twice, edges)
    ).T
    out[:, DRIFTING] = ((done_line.sum(1) + unticked) ** 2 * days / 3).T
    _book(out, stocks, edges)
    out[:, BOOKED_VAR] += stocks.fill.T
    out[:r, CONTENT] = stocks.content.T
    out[:r, VARIANCE] = np.where(stocks.is_seen, stocks.variance, 1.0).T
    out[:r, OTHER_SCALE] = stocks.other_scale.T
    out[:r, IS_SEEN] = stocks.is_seen.T
    out[:, LOSS_DAYS] = stocks.loss_days.T
    out[:, TRENDING] = np.where(stocks.may_trend, _trending(stocks, edges).T, out[:, LOSS_DAYS])
    return out


def _trending(stocks: Stocks, edges: Ints) -> Floats:
    """Plan times days from the end of ``as_of`` to the middle of its day; (N, R+1), below 0."""
    given = stocks.done.sum(1, keepdims=True)
    given += UNTICKED_DONE * stocks.unticked.sum(1, keepdims=True)
    given *= np.arange(stocks.history) + 0.5 - stocks.history
    return _between(given, edges)[:, 0]


def _between(amounts: Floats, edges: Ints) -> Floats:
    """Sums between edges of (N, K, H): (N, K, R+1)."""
    n, k, h = amounts.shape
    cumulated = np.zeros((n, k, h + 1))
    np.cumsum(amounts, axis=2, out=cumulated[:, :, 1:])
    at = np.broadcast_to(edges[:, None, :], (n, k, edges.shape[1]))
    return np.diff(np.take_along_axis(cumulated, at, axis=2), axis=2)


def _squares(amounts: Floats, edges: Ints) -> Floats:
    if not amounts.any():
        return np.zeros((len(edges), edges.shape[1] - 1))
    return _between((amounts * amounts).sum(1, keepdims=True), edges)[:, 0]


def slot_of(stocks: Stocks, at: Ints, stock: Ints) -> Ints:
    """The slot in whose interval a day of history lies; R after the last reading."""
    seen = np.maximum.accumulate(stocks.seen_at, axis=1)
    return np.asarray((seen[stock] <= at[:, None]).sum(1), dtype=np.int64)


def _book(out: Floats, stocks: Stocks, edges: Ints) -> None:
    booked = stocks.booked
    inside = (booked.at >= edges[booked.stock, 0]) & (booked.at < stocks.history)
    stock, at = booked.stock[inside], booked.at[inside]
    slot = slot_of(stocks, at, stock)
    np.add.at(out[:, BOOKED], (slot, stock), booked.amount[inside])
    np.add.at(out[:, BOOKED_VAR], (slot, stock), booked.variance[inside])


def start(stocks: Stocks, mean: Floats, variance: Floats) -> State:
    """What is held before the first reading and before :func:`calibrate`, of N stocks.

    mean, variance : (N,) of the common use factor, from kind or sisters.
    """
    n, lines = len(stocks), stocks.lines
    d = lines + 4
    x, p = np.zeros((d, n)), np.zeros((d, d, n))
    x[0], p[0, 0] = stocks.usable / 2, (2 * stocks.usable) ** 2
    p[d - 2, d - 2] = (SCALE_OFFSET_SD * stocks.usable) ** 2
    g = lines + 1
    own = LINE_SD[stocks.kind] if lines > 1 else np.zeros(n)
    x[1:g], x[g] = mean, UNTICKED_DONE * mean
    p[1:g, 1:g] = variance
    p[1:g, g] = p[g, 1:g] = UNTICKED_DONE * variance
    p[g, g] = UNTICKED_DONE**2 * variance + (UNTICKED_SD * mean) ** 2
    for k in range(lines):
        p[1 + k, 1 + k] += np.where(stocks.is_feeder[:, k] > 0, FEEDER_LINE_SD, own) ** 2
    x[d - 1], p[d - 1, d - 1] = stocks.rate[:, 0], stocks.rate[:, 1] ** 2
    return State(x, p, np.zeros(n))


def ask_for_trend(state: State, stocks: Stocks, sd: float) -> None:
    """r becomes the change of all factors per day, relative to their mean, in place.

    The factors are then those at the end of ``as_of``. sd : relative to the mean factor, per day.
    """
    own = stocks.may_trend
    state.mean[-1, own] = 0.0
    state.cov[-1, :, own] = 0.0
    state.cov[:, -1, own] = 0.0
    state.cov[-1, -1, own] = (sd * state.mean_factor[own]) ** 2


def calibrate(state: State, stocks: Stocks) -> None:
    """Presses weighed are an observation of the mean factor, in place; few stocks have any."""
    x, p, lines, told = state.mean, state.cov, stocks.lines, stocks.calibrated
    if not lines:
        return
    for stock, factor, variance in zip(told.stock, told.amount, told.variance, strict=True):
        h = np.zeros(len(x))
        h[1 : lines + 1] = 1 / lines
        toward = p[:, :, stock] @ h
        gain = toward / (h @ toward + variance)
        x[:, stock] += gain * (factor - h @ x[:, stock])
        p[:, :, stock] -= np.outer(gain, toward)


def noise_of(stocks: Stocks, ratio: Floats, walk: float) -> Noise:
    """Noise of N stocks; ratio : (N,) of the day noise to that assumed of the kind."""
    return Noise((ratio * DAY_SD[stocks.kind]) ** 2, np.full(len(stocks), walk**2))


def advance(state: State, feed: Floats, noise: Noise, extra: Extra = PLAIN) -> None:
    """Use, bookings and losses up to the next reading, in place. feed : (ROWS+K, M)."""
    x, p, lines = state.mean, state.cov, state.lines
    draws = [(k + 1, feed[ROWS + k]) for k in range(lines)]
    draws.append((lines + 1, feed[UNTICKED]))
    if extra.loss is not None:
        draws.append((lines + 3, extra.loss))
    f2 = state.mean_factor**2
    drift = noise.walk * f2
    added = f2 * (noise.day * feed[SQUARES] + feed[OTHER_SQUARES])
    added += drift * feed[DRIFTING] + feed[BOOKED_VAR]
    drift *= feed[DAYS]
    row = p[0].copy()
    x[0] += feed[BOOKED]
    for k, amount in draws:
        x[0] -= amount * x[k]
        row -= amount * p[k]
    corner = row[0].copy()
    for k, amount in draws:
        corner -= amount * row[k]
    if extra.content is not None:
        x[0] += extra.content
    if extra.variance is not None:
        added += extra.variance
    p[0], p[:, 0], p[0, 0] = row, row, corner + added
    for k in range(1, lines + 2):
        p[k, k] += drift


def observe(
    state: State, feed: Floats, reopen: Floats | None = None, misread: Floats | None = None
) -> Floats:
    """Take in one reading for each column, in place; (M,) standardised innovations, 0 without one.

    reopen : (M,) variance given back to the content where an old reading lies beyond 4 sd.
    """
    x, p, b = state.mean, state.cov, state.lines + 2
    other, seen = feed[OTHER_SCALE], feed[IS_SEEN]
    toward, expected = p[0].copy(), x[0].copy()
    if other.any():
        toward += other * p[b]
        expected += other * x[b]
    if misread is not None:
        toward += misread * p[b + 1]
        expected += misread * x[b + 1]
    spread = toward[0] + feed[VARIANCE]
    if other.any():
        spread += other * toward[b]
    if misread is not None:
        spread += misread * toward[b + 1]
    spread = np.maximum(spread, LEAST_SPREAD)
    gap = (feed[CONTENT] - expected) * seen
    z: Floats = gap / np.sqrt(spread)
    state.log_evidence -= 0.5 * (z * z + seen * np.log(2 * np.pi * spread))
    if reopen is not None:
        given_back = np.where(np.abs(z) > SHOCK_Z, reopen, 0.0)
        toward[0] += given_back
        p[0, 0] += given_back
        spread = spread + given_back
    scale = seen / np.sqrt(spread)
    toward *= scale
    x += toward * (scale * gap)
    p -= toward[:, None] * toward[None, :]
    return z


@dataclass(frozen=True, slots=True)
class Run:
    """A walk through all readings of M columns.

    ``end`` at the end of ``as_of``; ``z`` (R, M) standardised innovations; ``before`` the states
    before each of the last 20 slots (before the plan of its interval is taken out), oldest first;
    empty unless asked for.
    """

    end: State
    z: Floats
    before: tuple[State, ...]


def run(
    state: State,
    feed: Floats,
    of: Ints,
    noise: Noise,
    usable: Floats,
    *,
    keep: bool = False,
    rate: int = LOSS_DAYS,
) -> Run:
    """Take ``state`` (changed in place) through all readings.

    feed : (R+1, ROWS+K, N) of the stocks; of : (M,) the stock of each column; usable : (M,).
    keep : remember the states before the last 20 readings.
    rate : row of the feed that says how many times r goes from the content.
    """
    slots = len(feed) - 1
    plain = len(of) == feed.shape[2] and bool((of == np.arange(len(of))).all())
    reopen = (SHOCK_SD * usable) ** 2
    has_loss = bool(feed[:, rate].any())
    z, before = np.zeros((slots, len(of))), []
    for slot in range(slots + 1):
        now = feed[slot] if plain else np.take(feed[slot], of, axis=1)
        recent = slot >= slots - RECENT_READINGS
        if keep and recent and slot < slots:
            before.append(State(state.mean.copy(), state.cov.copy(), state.log_evidence.copy()))
        advance(state, now, noise, Extra(loss=now[rate]) if has_loss else PLAIN)
        if slot < slots:
            z[slot] = observe(state, now, None if recent else reopen)
    return Run(state, z, tuple(before))


def first_slot(is_seen: Bools) -> Ints:
    """(N,) slot of the first reading; R where there is none."""
    none = ~is_seen.any(1)
    first = np.where(none, is_seen.shape[1], np.argmax(is_seen, axis=1))
    return np.asarray(first, dtype=np.int64)
