"""How good was a projection, now that the truth is known?

CRPS as twice the mean pinball loss over the nineteen levels: Gneiting and Raftery 2007, JASA 102
(from memory). PIT: Gneiting, Balabdaoui and Raftery 2007, JRSS B 69 (from memory).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, lgamma, log

from inventory.forecast.types import LEVELS

SLOTS = 10
LUCK = 0.95
"""Luck alone stays within its band in so many of cases."""


@dataclass(frozen=True, slots=True)
class Score:
    """A projection held against its truth; days.

    ``pit``: chance that the projection gave to an end at or before the truth [0..1]; ``early``:
    likely day before (+) or after (-) the truth.
    """

    pit: float
    is_inside: bool
    early: float
    crps: float


def pinball(level: float, quantile: float, truth: float) -> float:
    """Loss of a quantile at a level, in the unit of the truth.

    >>> pinball(0.1, 10.0, 20.0), round(pinball(0.9, 30.0, 20.0), 9)
    (1.0, 1.0)
    """
    return (level - (truth < quantile)) * (truth - quantile)


def crps(quantiles: Sequence[float], truth: float, levels: Sequence[float] = LEVELS) -> float:
    """Twice the mean pinball loss over the levels, in the unit of the truth.

    It nears the continuous ranked probability score as levels grow dense; with nineteen it leaves
    out what lies beyond p05 and p95. Raises ValueError unless there is a quantile for each level.
    """
    if len(quantiles) != len(levels):
        raise ValueError(f"{len(quantiles)} quantiles; {len(levels)} are needed.")
    losses = (pinball(p, q, truth) for p, q in zip(levels, quantiles, strict=True))
    return 2 * sum(losses) / len(levels)


def pit(quantiles: Sequence[float], truth: float) -> float:
    """Chance that nineteen quantiles give to an end at or before the truth, linear in between.

    What lies before p05 or after p95 is taken as the middle of that tail.

    >>> pit([float(n) for n in range(1, 20)], 10.0)
    0.5
    """
    if truth < quantiles[0]:
        return LEVELS[0] / 2
    if truth > quantiles[-1]:
        return (1 + LEVELS[-1]) / 2
    first, last = bisect_left(quantiles, truth), len(quantiles) - 1
    if quantiles[first] == truth:
        while last > first and quantiles[last] != truth:
            last -= 1
        return (LEVELS[first] + LEVELS[last]) / 2
    lo, hi = quantiles[first - 1], quantiles[first]
    part = (truth - lo) / (hi - lo)
    return LEVELS[first - 1] + part * (LEVELS[first] - LEVELS[first - 1])


def score(quantiles: Sequence[float], truth: float) -> Score:
    """Hold nineteen quantiles against the truth; both in days from the same day."""
    middle = len(LEVELS) // 2
    return Score(
        pit=pit(quantiles, truth),
        is_inside=quantiles[1] <= truth <= quantiles[-2],
        early=truth - quantiles[middle],
        crps=crps(quantiles, truth),
    )


def slot_of(value: float) -> int:
    """Tenth in which a chance lies, 0 to 9.

    >>> slot_of(0.0), slot_of(0.1), slot_of(0.95), slot_of(1.0)
    (0, 1, 9, 9)
    """
    return min(SLOTS - 1, int(value * SLOTS + 1e-9))


def luck_of(chance: float, tries: int, within: float = LUCK) -> tuple[float, float]:
    """Shares between which luck alone leaves ``tries`` independent tries of a chance.

    Equal-tailed binomial: at most (1 - within)/2 lies outside on each side.

    >>> luck_of(0.8, 120)
    (0.725, 0.8666666666666667)
    """
    if not tries or not 0 < chance < 1:
        return (chance, chance) if tries else (0.0, 1.0)
    tail, total = (1 - within) / 2, 0.0
    lo, hi = None, tries
    for hits in range(tries + 1):
        total += _binomial(hits, tries, chance)
        if lo is None and total > tail:
            lo = hits
        if total >= 1 - tail:
            hi = hits
            break
    return (lo or 0) / tries, hi / tries


def _binomial(hits: int, tries: int, chance: float) -> float:
    ways = lgamma(tries + 1) - lgamma(hits + 1) - lgamma(tries - hits + 1)
    return exp(ways + hits * log(chance) + (tries - hits) * log(1 - chance))


def shared_out(found: float, booked: Sequence[float]) -> list[float]:
    """What a measurement found beyond what was booked, over the days since the one before.

    In proportion to what was booked on each day; evenly where nothing was booked. Returns what was
    really used on each day. Without a day there is nothing to share out: an empty list.

    >>> shared_out(3.0, [2.0, 4.0]), shared_out(6.0, [0.0, 0.0, 0.0])
    ([3.0, 6.0], [2.0, 2.0, 2.0])
    """
    total = sum(booked)
    if total > 0:
        return [one * (1 + found / total) for one in booked]
    return [found / len(booked) for _ in booked] if booked else []


def ran_out_after(usable: float, used: Sequence[float]) -> float | None:
    """Days until a content is used up, linear within a day; None when it outlasts ``used``.

    >>> ran_out_after(5.0, [2.0, 2.0, 2.0]), ran_out_after(7.0, [2.0, 2.0, 2.0])
    (2.5, None)
    >>> ran_out_after(0.0, [])
    0.0
    """
    if usable <= 0:
        return 0.0
    left = usable
    for day, amount in enumerate(used):
        if amount >= left:
            return day + left / amount
        left -= amount
    return None
