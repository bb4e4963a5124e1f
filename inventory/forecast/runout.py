"""When is the usable content gone: a distribution, never a date.

``P(out by day t) = Phi(-mean(t)/sd(t))`` of the content left if the plan ahead is given at the
learned factors, made non-decreasing by a running maximum; all that may have happened, with every
speed of drift, is mixed by its share.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from inventory.forecast.bank import Held
from inventory.forecast.prior import UNTICKED_DONE, Floats
from inventory.forecast.sisters import ShareArrays
from inventory.forecast.stocks import Booked, Ints, Stocks
from inventory.forecast.types import LEVELS

FADE_DAYS = 300.0
"""No drift goes on for ever: ahead, its pace falls by 1/e in this time (assumption of this program;
damped trends: Gardner and McKenzie 1985, Management Science 31, from memory).
"""
AT_ONCE = 128
"""Rows reckoned together: as many as stay in the near memory of a processor."""


@dataclass(frozen=True, slots=True)
class Ahead:
    """The plan ahead of N stocks, cumulated to the end of day 0, 1, .. T.

    ``use`` (N, K, T+1) expected ticked plan of each line; ``unticked`` (N, T+1) plan that nobody
    will tick; ``booked``, ``booked_var`` (N, T+1); per squared factor: ``squares`` (N, T+1) times
    the squared day noise, ``chance`` (N, T+1) for skips and their unknown share, ``drifting``
    (N, T+1) times the squared drift; ``trending`` (N, T+1) use times days after ``as_of``, for a
    steady drift that fades.
    """

    use: Floats
    unticked: Floats
    booked: Floats
    booked_var: Floats
    squares: Floats
    chance: Floats
    drifting: Floats
    trending: Floats

    @property
    def days(self) -> int:
        """Last day T."""
        return int(self.use.shape[2]) - 1


def ahead_of(stocks: Stocks, shares: ShareArrays, days: int, rows: Ints | None = None) -> Ahead:
    """The plan of the next ``days`` days with the shares that are usually given.

    rows : only these stocks, in this order; None: all.
    """
    own = slice(None) if rows is None else rows
    by_hand, surely = stocks.hand[own, :, :days], stocks.sure[own, :, :days]
    hand, total_hand, squares_hand = _cumulated(by_hand)
    done, unticked = shares.done[own], shares.unticked[own]
    given = (done + UNTICKED_DONE * unticked)[:, None]
    use, total, squares = done[:, None, None] * hand, total_hand, squares_hand
    if surely.any():
        sure, total_sure, squares_sure = _cumulated(surely)
        use, total, squares = use + sure, total + total_sure, squares + squares_sure
    trending = np.diff(use.sum(1) + UNTICKED_DONE * unticked[:, None] * total_hand, axis=1)
    trending *= FADE_DAYS * -np.expm1(-(np.arange(days) + 0.5) / FADE_DAYS)
    booked, booked_var = _booked(stocks.coming, len(stocks), days)
    return Ahead(
        use=use,
        unticked=unticked[:, None] * total_hand,
        booked=booked[own],
        booked_var=booked_var[own],
        squares=squares,
        chance=given * (1 - given) * squares_hand + shares.variance[own, None] * total_hand**2,
        drifting=total**2 * (np.arange(days + 1.0) / 3),
        trending=np.cumsum(np.pad(trending, ((0, 0), (1, 0))), axis=1),
    )


def _cumulated(amounts: Floats) -> tuple[Floats, Floats, Floats]:
    """Of (N, K, T) amounts the running sums of each line, of all, and of all squares."""
    n, lines, days = amounts.shape
    own, total, squares = (np.zeros((n, *k, days + 1)) for k in ((lines,), (), ()))
    np.cumsum(amounts, axis=2, out=own[:, :, 1:])
    np.sum(own, axis=1, out=total)
    np.cumsum(np.einsum("nkt,nkt->nt", amounts, amounts), axis=1, out=squares[:, 1:])
    return own, total, squares


def _booked(coming: Booked, n: int, days: int) -> tuple[Floats, Floats]:
    out = np.zeros((2, n, days + 1))
    if not len(coming.stock):
        return out[0], out[1]
    inside = coming.at <= days
    where = (coming.stock[inside], coming.at[inside])
    np.add.at(out[0], where, coming.amount[inside])
    np.add.at(out[1], where, coming.variance[inside])
    return np.cumsum(out[0], axis=1), np.cumsum(out[1], axis=1)


@dataclass(frozen=True, slots=True)
class Left:
    """Mean and variance of the content left at the end of day 0, 1, .. T; (C, T+1) each."""

    mean: Floats
    variance: Floats

    def out_by(self) -> Floats:
        """P(content gone by the end of day t), not falling; (C, T+1) [1]."""
        from scipy.special import ndtr

        z = self.mean / -np.sqrt(np.maximum(self.variance, 1e-18))
        return np.maximum.accumulate(ndtr(z), axis=1)


def left_of(ahead: Ahead, held: Held, which: Ints) -> Left:
    """Content left day by day under the components ``which`` of ``held``; rows in that order."""
    rows, x, p = held.stock[which], held.state.mean[:, which], held.state.cov[:, :, which]
    lines = len(x) - 4
    draws = [(k + 1, ahead.use[rows, k]) for k in range(lines)]
    draws.append((lines + 1, ahead.unticked[rows]))
    if held.runs_on[which].any():
        days = np.arange(ahead.days + 1.0)
        draws.append((lines + 3, held.runs_on[which][:, None] * days))
    if held.trends[which].any():
        draws.append((lines + 3, held.trends[which][:, None] * ahead.trending[rows]))
    factor = x[1 : lines + 1].mean(0) if lines else np.ones(len(rows))
    f2 = factor * factor
    mean = ahead.booked[rows]
    mean += x[0][:, None]
    variance = ahead.squares[rows]
    variance *= (f2 * held.day[which])[:, None]
    variance += f2[:, None] * ahead.chance[rows]
    variance += (f2 * held.walk[which])[:, None] * ahead.drifting[rows]
    variance += ahead.booked_var[rows]
    variance += p[0, 0][:, None]
    for n, (i, amount) in enumerate(draws):
        mean -= x[i][:, None] * amount
        slope = amount * p[i, i][:, None]
        slope -= 2 * p[0, i][:, None]
        for j, other in draws[:n]:
            slope += other * (2 * p[i, j])[:, None]
        slope *= amount
        variance += slope
    return Left(mean, variance)


def mixed(ahead: Ahead, held: Held, stocks: int) -> Floats:
    """Chance to be out, mixed over all that may have happened; (N, T+1)."""
    out = np.zeros((stocks, ahead.days + 1))
    for which in _in_layers(held, stocks):
        left = left_of(ahead, held, which)
        out[held.stock[which]] += held.share[which][:, None] * left.out_by()
    return out


def matched(ahead: Ahead, held: Held, stocks: int) -> Left:
    """Each stock with mean and variance of its mixture; (N, T+1)."""
    mean, square = np.zeros((2, stocks, ahead.days + 1))
    for which in _in_layers(held, stocks):
        left, share = left_of(ahead, held, which), held.share[which][:, None]
        mean[held.stock[which]] += share * left.mean
        square[held.stock[which]] += share * (left.variance + left.mean**2)
    return Left(mean, np.maximum(square - mean**2, 0.0))


def _in_layers(held: Held, stocks: int) -> Iterator[Ints]:
    """Components in sets that hold no stock twice: each stock's first, its second, and so on."""
    count = np.bincount(held.stock, minlength=stocks)
    first = np.cumsum(count) - count
    for layer in range(int(count.max(initial=0))):
        own = (first + layer)[count > layer]
        for lo in range(0, len(own), AT_ONCE):
            yield own[lo : lo + AT_ONCE]


def quantiles(out_by: Floats) -> Floats:
    """Days at which the chance reaches each of :data:`LEVELS`, linear within a day; (N, 19).

    out_by : (N, T+1) chance at the end of day 0, 1, .. T, not falling; T where it is not reached.
    """
    rows, last = np.arange(len(out_by)), out_by.shape[1] - 1
    found = np.empty((len(out_by), len(LEVELS)))
    for n, level in enumerate(LEVELS):
        at = (out_by < level).sum(1)
        k = np.clip(at, 1, last)
        below, above = out_by[rows, k - 1], out_by[rows, k]
        with np.errstate(divide="ignore", invalid="ignore"):
            within = k - 1 + (level - below) / (above - below)
        found[:, n] = np.where(at == 0, 0.0, np.where(at > last, float(last), within))
    return found
