"""Does a tank's water leave its own habit, and when will it reach a limit?

A reading is held against the tank's own earlier ones, never against another tank's: the median of
the last six and their median distance from it. A trend is the median of the slopes of all pairs,
which one slip cannot turn. Compared is like with like only: same layout, same light phase, same
method, same reagent lot. Where one of these has just changed, a jump says more about the kit than
about the water, and nothing is concluded until there are four readings again.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations
from statistics import median

from gallery_ops.kernel.values.limits import OutOfRange

FEWEST = 4
"""Fewer like readings than this say nothing. Common practice, no source."""

HABIT_OF = 6
"""So many earlier readings make the habit. Common practice, no source."""

FAR_MADS = 3.0
"""So many median distances away is far. Common practice, no source."""

TREND_DAYS = (28.0, 42.0)
"""A trend is read off at least four and at most six weeks. Common practice, no source."""

SAME_WAY = 0.75
"""So large a part of all pairs must go the way of the trend; ties count against it. Ours."""


@dataclass(frozen=True, slots=True)
class Read:
    """One reading: ``day`` [d from any beginning], ``value`` in the unit of its parameter.

    at_limit : it was "<" or ">" a limit of the method, so the value is no number to compare
    """

    day: float
    value: float
    layout: str = ""
    light_phase: str = ""
    method: str = ""
    reagent_lot: str = ""
    at_limit: bool = False

    def is_like(self, other: Read) -> bool:
        """May the two be compared?"""
        return self.alike == other.alike

    @property
    def alike(self) -> tuple[str, str, str, str]:
        """What must be the same for a comparison."""
        return self.layout, self.light_phase, self.method, self.reagent_lot


class State(StrEnum):
    """What the newest reading says."""

    NOT_ENOUGH = "not_enough"
    AT_LIMIT = "at_limit"
    USUAL = "usual"
    AWAY = "away"


@dataclass(frozen=True, slots=True)
class Trend:
    """A steady way up or down.

    per_week : change a week, in the unit of the parameter
    now : where the line stands on the day of the newest reading
    over_days, count : how long it was watched, and by how many readings
    days_to_limit : days until the line reaches the limit it goes to; 0 when it is there, None when
        there is no limit that way
    limit : that limit
    """

    per_week: float
    now: float
    over_days: float
    count: int
    limit: float | None
    days_to_limit: float | None


@dataclass(frozen=True, slots=True)
class Drift:
    """What the readings of one parameter in one tank say, with all that it was concluded from.

    alike : so many readings can be compared with the newest one, itself included
    changed : what is new about the newest one since the reading before it: ``layout``, ``method``,
        ``reagent_lot``
    """

    state: State
    newest: Read | None
    alike: int
    usual: float | None = None
    mad: float | None = None
    allowed: float | None = None
    changed: tuple[str, ...] = ()
    trend: Trend | None = None


def judge(
    reads: Iterable[Read], *, step: float, low: float | None = None, high: float | None = None
) -> Drift:
    """Hold the newest reading against the tank's habit, and look for a trend.

    step : the smallest difference that the method shows [unit of the parameter]; a distance of one
        step is never "away", also where all earlier readings were equal
    low, high : alarm limits that a trend may reach

    Raises OutOfRange for a step that is not more than nothing.

    >>> kh = [Read(day=7 * week, value=4) for week in range(6)] + [Read(day=42, value=2)]
    >>> judge(kh, step=0.5).state.value
    'away'
    >>> judge(kh[:3], step=0.5).state.value
    'not_enough'
    """
    if not step > 0:
        raise OutOfRange("Smallest step", "more than 0", str(step))
    ordered = sorted(reads, key=lambda read: read.day)
    if not ordered:
        return Drift(State.NOT_ENOUGH, None, 0)
    newest = ordered[-1]
    changed = _changed(ordered, newest)
    alike = [read for read in ordered if read.is_like(newest) and not read.at_limit]
    if newest.at_limit:
        return Drift(State.AT_LIMIT, newest, len(alike), changed=changed)
    if len(alike) < FEWEST:
        return Drift(State.NOT_ENOUGH, newest, len(alike), changed=changed)
    before = [read.value for read in alike[-1 - HABIT_OF : -1]]
    usual, mad = median(before), median_distance(before)
    allowed = max(FAR_MADS * mad, step)
    is_away = abs(newest.value - usual) > allowed * (1 + 1e-9)
    return Drift(
        State.AWAY if is_away else State.USUAL,
        newest,
        len(alike),
        usual,
        mad,
        allowed,
        changed,
        _trend(alike, step, low, high),
    )


def median_distance(values: Sequence[float]) -> float:
    """Median of the distances from the median, in the values' own unit.

    >>> median_distance([1, 1, 2, 2, 4, 6, 9])
    1
    """
    middle = median(values)
    return median(abs(value - middle) for value in values)


def median_slope_per_day(reads: Sequence[Read]) -> float | None:
    """Median of the slopes of all pairs [unit a day]; None without two different days.

    Source: Sen, J. Am. Stat. Assoc. 63:1379 (1968), from memory.
    """
    slopes = _slopes(reads)
    return median(slopes) if slopes else None


def _slopes(reads: Sequence[Read]) -> list[float]:
    return [
        (b.value - a.value) / (b.day - a.day) for a, b in combinations(reads, 2) if b.day > a.day
    ]


def _trend(
    alike: Sequence[Read], step: float, low: float | None, high: float | None
) -> Trend | None:
    last = alike[-1].day
    watched = [read for read in alike if last - read.day <= TREND_DAYS[1]]
    over_days = last - watched[0].day
    slopes = _slopes(watched)
    if len(watched) < FEWEST or over_days < TREND_DAYS[0]:
        return None
    slope = median(slopes)
    with_it = sum(1 for one in slopes if one * slope > 0)
    if abs(slope) * over_days < step * (1 - 1e-9) or with_it < SAME_WAY * len(slopes):
        return None
    now = median(read.value - slope * (read.day - last) for read in watched)
    limit = low if slope < 0 else high
    days = None if limit is None else max(0.0, (limit - now) / slope)
    return Trend(slope * 7, now, over_days, len(watched), limit, days)


def _changed(ordered: Sequence[Read], newest: Read) -> tuple[str, ...]:
    """What was changed between the newest reading and the last one of its light phase before."""
    earlier = [read for read in ordered[:-1] if read.light_phase == newest.light_phase]
    if not earlier:
        return ()
    before = earlier[-1]
    return tuple(
        name
        for name in ("layout", "method", "reagent_lot")
        if getattr(before, name) != getattr(newest, name)
    )
