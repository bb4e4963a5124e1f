"""How many pieces a day are asked for, where demand comes now and then?

Rates to show; the run-out rests on a distribution (:mod:`inventory.forecast.intermittent`).
Sources, all from memory: Croston 1972; Syntetos and Boylan 2005 (correction and cut-offs of the
classes); Teunter, Syntetos and Babai 2011 (the probability decays while nothing is asked for).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

ALPHA = 0.1
ADI_CUT, CV2_CUT = 1.32, 0.49
LONG_GAP = 2.0
"""A gap of this many mean intervals says that an item may be dying."""

DemandClass = Literal["smooth", "erratic", "intermittent", "lumpy", "none"]
Method = Literal["mean", "SBA", "TSB"]


@dataclass(frozen=True, slots=True)
class Rate:
    """Pieces a day, how it was reckoned, and of what class the demand is."""

    per_day: float
    method: Method
    demand_class: DemandClass


def croston(demand: Sequence[float], alpha: float = ALPHA) -> float:
    """Smoothed size over smoothed interval [pieces/day]; both start at their first value.

    demand : pieces of each day, oldest first. 0 where nothing was ever asked for.
    """
    sizes, gaps = sizes_and_gaps(demand)
    return smoothed(sizes, alpha) / smoothed(gaps, alpha) if sizes else 0.0


def sizes_and_gaps(demand: Sequence[float]) -> tuple[list[float], list[float]]:
    """Pieces of each day with demand, and days from the one before to it; the first counts from
    the day before the record.
    """
    days = [day for day, pieces in enumerate(demand) if pieces > 0]
    sizes = [float(demand[day]) for day in days]
    return sizes, [float(b - a) for a, b in itertools.pairwise([-1, *days])]


def smoothed(values: Sequence[float], alpha: float, start: float | None = None) -> float:
    """Simple exponential smoothing, the last level; from ``start`` or else from the first value.

    >>> smoothed([4.0, 8.0], 0.5), smoothed([4.0, 8.0], 0.5, start=0.0)
    (6.0, 5.0)
    """
    level, rest = (values[0], values[1:]) if start is None else (start, values)
    for value in rest:
        level += alpha * (value - level)
    return level


def sba(demand: Sequence[float], alpha: float = ALPHA) -> float:
    """Croston's rate without its upward bias [pieces/day]."""
    return (1 - alpha / 2) * croston(demand, alpha)


def tsb(demand: Sequence[float], alpha: float = ALPHA) -> float:
    """Smoothed size times smoothed probability of demand [pieces/day]; decays on days without."""
    if not demand:
        return 0.0
    size = next((float(d) for d in demand if d > 0), 0.0)
    chance = float(demand[0] > 0)
    for pieces in demand[1:]:
        chance += alpha * (float(pieces > 0) - chance)
        if pieces > 0:
            size += alpha * (pieces - size)
    return size * chance


def demand_class(demand: Sequence[float]) -> DemandClass:
    """Class by mean days per demand day (ADI) and squared variation of the sizes (CV^2)."""
    interval, variation = spread_of(demand)
    if not interval:
        return "none"
    if interval < ADI_CUT:
        return "smooth" if variation < CV2_CUT else "erratic"
    return "intermittent" if variation < CV2_CUT else "lumpy"


def spread_of(demand: Sequence[float]) -> tuple[float, float]:
    """ADI [days] and CV^2 of the sizes [1], sample variance; (0, 0) without demand."""
    sizes = [float(d) for d in demand if d > 0]
    if not sizes:
        return 0.0, 0.0
    mean = sum(sizes) / len(sizes)
    squares = sum((x - mean) ** 2 for x in sizes) / max(1, len(sizes) - 1)
    return len(demand) / len(sizes), squares / mean**2


def rate_of(demand: Sequence[float]) -> Rate:
    """The rate to show: the mean when smooth, TSB after a long gap, else SBA."""
    kind = demand_class(demand)
    if kind in ("smooth", "none"):
        return Rate(sum(demand) / len(demand) if demand else 0.0, "mean", kind)
    last = max(day for day, pieces in enumerate(demand) if pieces > 0)
    gap = len(demand) - 1 - last
    if gap > LONG_GAP * spread_of(demand)[0]:
        return Rate(tsb(demand), "TSB", kind)
    return Rate(sba(demand), "SBA", kind)
