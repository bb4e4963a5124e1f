"""One stock after the filter: what is held of it, gathered from the arrays it went through.

A place of a pool and a stock of its own are the same thing here; each is followed once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from inventory.forecast import bank, many, runout
from inventory.forecast import filter as kalman
from inventory.forecast.bank import Held
from inventory.forecast.days import AHEAD_DAYS, Days
from inventory.forecast.pack import Key, Laid, Packed, known_as
from inventory.forecast.prior import Floats, Shares
from inventory.forecast.readings import Reading
from inventory.forecast.runout import Ahead, Left
from inventory.forecast.types import HORIZON_DAYS, LEVELS, Case, Options, Sisters

RECENT_DAYS = 30
UNWEIGHED_SD = 0.005
"""Sd of a weighing to come relative to the usable content, where none was seen (own assumption)."""


@dataclass(frozen=True, slots=True)
class Followed:
    """One place, and all that may have happened there with every speed of drift.

    ``held`` has the components of this stock only; ``out_by`` (T+1,) chance to be out;
    ``weighed`` the same components after one more weighing today that shows what is expected.
    """

    case: Case
    days: Days
    seen: tuple[Reading, ...]
    held: Held
    ahead: Ahead
    by_name: Floats
    alarm: int
    front: int
    """Empty slots before its first reading."""
    out_by: Floats
    weighed: Held
    taught: Sisters

    def left(self, *, if_weighed: bool = False) -> Left:
        """Content left day by day, one row for each component."""
        held = self.weighed if if_weighed else self.held
        return runout.left_of(self.ahead, held, np.arange(len(held.stock)))

    def content(self) -> tuple[float, float]:
        """Mean and variance of the usable content at the end of ``as_of``."""
        return mixture(self.held.share, self.held.state.mean[0], self.held.state.cov[0, 0])

    def use(self, weight: Floats) -> tuple[float, float]:
        """Mean and variance of the factors weighted by ``weight`` (K,)."""
        own, state = slice(1, 1 + len(weight)), self.held.state
        mean = weight @ state.mean[own]
        variance = np.einsum("k,kjc,j->c", weight, state.cov[own, own], weight)
        return mixture(self.held.share, mean, variance)


def mixture(share: Floats, mean: Floats, variance: Floats) -> tuple[float, float]:
    """Mean and variance of a mixture; all (C,), shares sum to 1."""
    middle = float(share @ mean)
    return middle, max(0.0, float(share @ (variance + (mean - middle) ** 2)))


def follow(packed: Sequence[Packed], options: Options) -> dict[Key, Followed]:
    """Every stock of the sets, by group and name."""
    out: dict[Key, Followed] = {}
    for one, parts in zip(packed, many.learned([p.stocks for p in packed], options), strict=True):
        at = 0
        for part in parts:
            laid = one.laid[at : at + len(part.stocks)]
            at += len(part.stocks)
            out |= _follow_part(laid, part, options)
    return out


def _follow_part(laid: Sequence[Laid], part: many.Part, options: Options) -> dict[Key, Followed]:
    n = len(laid)
    found = bank.held(part.walked, look=options.bank)
    ahead = runout.ahead_of(part.stocks, part.shares, AHEAD_DAYS)
    out_by = runout.mixed(ahead, found, n)
    weighed = _weighed(found, laid)
    by_name = found.by_name(n)
    alarm = bank.alarm_of(by_name, found.drifting(n))
    first = np.searchsorted(found.stock, np.arange(n + 1))
    out = {}
    for k, one in enumerate(laid):
        own = np.arange(first[k], first[k + 1])
        slots = part.stocks.slots
        out[known_as(one.case)] = Followed(
            case=one.case,
            days=replace(one.days, shares=_shares(part, k, one.days)),
            seen=one.seen,
            held=found.of(own),
            ahead=ahead,
            by_name=by_name[k],
            alarm=int(alarm[k]),
            front=slots - len(one.seen),
            out_by=out_by[k],
            weighed=weighed.of(own),
            taught=Sisters(
                float(part.beliefs.mean[k]),
                float(part.beliefs.variance[k]),
                float(part.beliefs.noise[k]),
                _three(part.shares.counts[k]),
                *_speeds(part, k),
                alike=float(part.shares.worth[k]),
            ),
        )
    return out


def _speeds(part: many.Part, k: int) -> tuple[float, float | None]:
    """Weights of the quickest walk and of a steady drift of stock ``k``."""
    walked = part.walked
    trend = None if walked.trended is None else float(walked.weights[-1, k])
    return float(walked.weights[walked.walks - 1, k]), trend


def _three(counts: Floats) -> tuple[float, float, float]:
    return float(counts[0]), float(counts[1]), float(counts[2])


def _shares(part: many.Part, k: int, days: Days) -> Shares:
    every = part.shares
    return Shares(
        float(every.done[k]),
        float(every.skipped[k]),
        float(every.unticked[k]),
        float(every.variance[k]),
        days.shares.counted,
    )


def _weighed(found: Held, laid: Sequence[Laid]) -> Held:
    """The same after one more weighing that shows what is expected."""
    variance = np.array([_scale_variance(one) for one in laid])[found.stock]
    x, p = found.state.mean, found.state.cov
    toward = p[0] / np.sqrt(p[0, 0] + variance)
    cov = p - toward[:, None] * toward[None, :]
    return replace(found, state=kalman.State(x, cov, found.state.log_evidence))


def _scale_variance(one: Laid) -> float:
    weighed = [r.variance for r in one.seen if r.seen.kind == "weigh"]
    return weighed[-1] if weighed else (UNWEIGHED_SD * one.usable) ** 2


def level(followed: Sequence[Followed], reserve: tuple[float, float]) -> tuple[float, float]:
    """Mean and sd of the content of all places and what stands beside them."""
    mean, variance = reserve[0], reserve[1] ** 2
    for one in followed:
        m, v = one.content()
        mean, variance = mean + m, variance + v
    return mean, sqrt(variance)


def factor(followed: Sequence[Followed]) -> tuple[float, float]:
    """Mean and sd of the use per planned unit, lines weighted by their recent plan."""
    amounts = [_recent_plan(one.days) for one in followed]
    total = sum(float(a.sum()) for a in amounts)
    if not total:
        return 1.0, 0.0
    mean = variance = 0.0
    for one, amount in zip(followed, amounts, strict=True):
        m, v = one.use(amount / total)
        mean, variance = mean + m, variance + v
    return mean, sqrt(variance)


def _recent_plan(days: Days) -> Floats:
    recent = days.done[:, -RECENT_DAYS:].sum(1)
    if recent.sum() > 0:
        return np.asarray(recent, dtype=np.float64)
    ahead = days.ahead_hand + days.ahead_sure
    return np.asarray(ahead[:, :RECENT_DAYS].sum(1), dtype=np.float64)


def left_together(followed: Sequence[Followed], *, if_weighed: bool = False) -> Left:
    """Mean and variance of what is left of all places, day by day; (1, T+1) each."""
    mean, variance = np.zeros((2, 1, AHEAD_DAYS + 1))
    for one in followed:
        left, share = one.left(if_weighed=if_weighed), one.held.share
        middle = share @ left.mean
        mean += middle
        variance += np.maximum(share @ (left.variance + (left.mean - middle) ** 2), 0.0)
    return Left(mean, variance)


def width_if_weighed(followed: Sequence[Followed], reserve: tuple[float, float]) -> float:
    """Days from p10 to p90 that remain when every place is weighed today."""
    chance = out_by(followed, reserve, if_weighed=True)
    days = runout.quantiles(chance[None, : HORIZON_DAYS + 1])[0]
    return float(days[LEVELS.index(0.9)] - days[LEVELS.index(0.1)])


def out_by(
    followed: Sequence[Followed], reserve: tuple[float, float], *, if_weighed: bool = False
) -> Floats:
    """Chance to be out, mixed over all that may have happened.

    Of several places each gives its mean and variance, as only their sum must last.
    """
    first = followed[0]
    if len(followed) == 1:
        if reserve == (0.0, 0.0) and not if_weighed:
            return first.out_by
        left = first.left(if_weighed=if_weighed)
        more = Left(left.mean + reserve[0], left.variance + reserve[1] ** 2)
        return np.asarray(first.held.share @ more.out_by(), dtype=np.float64)
    places = left_together(followed, if_weighed=if_weighed)
    more = Left(places.mean + reserve[0], places.variance + reserve[1] ** 2)
    return np.asarray(more.out_by()[0], dtype=np.float64)
