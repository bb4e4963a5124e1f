"""What a person needs when something is wrong: name, days, size, each with its range, no sentence.

A finding accuses nobody: it names the days, what is missing and the last two measurements, and
leaves the cause open. Thresholds are choices of this program.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import sqrt

import numpy as np

from inventory.forecast import change
from inventory.forecast.follow import Followed, mixture
from inventory.forecast.prior import UNTICKED_DONE, Floats
from inventory.forecast.stocks import Ints
from inventory.forecast.types import Finding, Habit, Measured, Size, Told, Unit

LEAST_WEIGHT = 0.1
OPEN_WEIGHT = 0.5
WITHIN = 0.8
"""The days told hold at least this chance."""
SURE = 0.95
LITTLE, MUCH = 0.95, 1.05
MOSTLY_DONE, MOSTLY_NOT, SURE_OF_TICKS = 0.9, 0.6, 0.9
LEAST_READINGS = 2
PER_UNIT: dict[Unit, int] = {"mL": 1000, "g": 1000, "piece": 1}
"""Base units in one unit of a case."""
TAILS = (0.10, 0.50, 0.90)
Z_10 = 1.281552


def of(places: Sequence[Followed]) -> tuple[Finding, ...]:
    """What may be wrong at any of the places, likeliest first."""
    found = [
        _finding(one, name)
        for one in places
        for name in range(1, len(change.NAMES))
        if one.by_name[name] >= LEAST_WEIGHT
    ]
    return tuple(sorted(found, key=lambda f: (-f.weight, f.case_id, f.name)))


@dataclass(frozen=True, slots=True)
class _Named:
    """Components of one name: shares of it (C,), numbers of the reading, mean and variance of r."""

    share: Floats
    number: Ints
    mean: Floats
    variance: Floats


def _finding(one: Followed, name: int) -> Finding:
    held, base = one.held, PER_UNIT[one.case.unit]
    own = held.name == name
    weight = float(one.by_name[name])
    named = _Named(
        held.share[own] / weight,
        held.slot[own] - one.front,
        held.state.mean[-1, own],
        held.state.cov[-1, -1, own],
    )
    lo, hi, within = _range(named, len(one.seen))
    mean, variance = _amounts(one, name, named)
    rate = None
    if name == change.STEADY:
        rate = _size(named.share, named.mean, named.variance, base)
    return Finding(
        case_id=one.case.case_id,
        name=change.NAMES[name],
        weight=weight,
        from_day=_first_day(one, lo, name),
        to_day=_day(one, one.seen[hi].at - 1),
        within=within,
        amount=_size(named.share, mean, variance, base),
        rate_per_day=rate,
        readings=_last_two(one, base),
        is_open=weight > OPEN_WEIGHT or one.alarm == name,
    )


def _range(named: _Named, readings: int) -> tuple[int, int, float]:
    """Fewest neighbouring readings that hold at least :data:`WITHIN`; first, last, their share."""
    share = np.bincount(named.number, named.share, minlength=readings)
    below = np.concatenate(([0.0], np.cumsum(share)))
    best = (0, readings - 1)
    for lo in range(readings):
        hi = int(np.searchsorted(below, below[lo] + WITHIN - 1e-12)) - 1
        if hi < readings and hi - lo < best[1] - best[0]:
            best = (lo, max(lo, hi))
    lo, hi = best
    return lo, hi, min(1.0, float(below[hi + 1] - below[lo]))


def _amounts(one: Followed, name: int, named: _Named) -> tuple[Floats, Floats]:
    """What is missing or off, by component: mean and variance in the unit of the case."""
    if name == change.LATE:
        return np.array([_receipts(one, n) for n in named.number]), np.zeros(len(named.share))
    if name != change.STEADY:
        return named.mean, named.variance
    at = np.array([r.at for r in one.seen], dtype=np.float64)
    length = at[named.number] - at[named.number - 1]
    run = one.days.past - at[named.number] + length / 2
    spread = (change.PART_DAY_SD * length * named.mean) ** 2
    return named.mean * run, named.variance * run**2 + spread


def _receipts(one: Followed, number: int) -> float:
    if number + 1 >= len(one.seen):
        return 0.0
    lo, hi = one.seen[number].at, one.seen[number + 1].at
    return sum(
        e.amount
        for e in one.case.events
        if e.kind == "receipt" and lo <= (e.on - one.case.history_from).days < hi
    )


def _size(share: Floats, mean: Floats, variance: Floats, base: int) -> Size:
    """p10, p50, p90 of a mixture of normals, in whole base units."""
    return Size(*(round(base * _quantile(share, mean, variance, level)) for level in TAILS))


def _quantile(share: Floats, mean: Floats, variance: Floats, level: float) -> float:
    from scipy.special import ndtr

    sd = np.sqrt(np.maximum(variance, 1e-12))
    lo, hi = float((mean - 8 * sd).min()), float((mean + 8 * sd).max())
    for _ in range(60):
        middle = (lo + hi) / 2
        if float(share @ ndtr((middle - mean) / sd)) < level:
            lo = middle
        else:
            hi = middle
    return (lo + hi) / 2


def _first_day(one: Followed, number: int, name: int) -> date:
    """A wrong reading is wrong on its day; all else may have happened since the one before."""
    last = one.seen[number].at
    before = one.seen[number - 1].at if number else 0
    return _day(one, last - 1 if name == change.MISREAD else min(before, last - 1))


def _day(one: Followed, column: int) -> date:
    return one.case.history_from + timedelta(days=column)


def _last_two(one: Followed, base: int) -> tuple[Measured, ...]:
    out = []
    for n in range(max(0, len(one.seen) - 2), len(one.seen)):
        reading = one.seen[n]
        value = reading.seen.value
        if reading.seen.kind == "eye":
            value *= one.case.vessels[reading.vessel].nominal
        expected = round(base * (value + _expected(one, n) - reading.content)) if n else None
        out.append(
            Measured(
                reading.seen.on,
                reading.seen.kind,
                reading.seen.container,
                round(base * value),
                expected,
            )
        )
    return tuple(out)


def _expected(one: Followed, n: int) -> float:
    """Usable content that reading ``n`` should show after the one before, by plan and factor."""
    days, before, lines = one.days, one.seen[n - 1], len(one.days.lines)
    part = slice(before.at, one.seen[n].at)
    x = one.held.state.mean @ one.held.share
    used = float(x[1 : lines + 1] @ days.done[:, part].sum(1))
    used += float(x[lines + 1]) * float(days.unticked[:, part].sum())
    got = sum(
        e.amount
        for e in one.case.events
        if part.start <= (e.on - one.case.history_from).days < part.stop
    )
    return before.content - used + got


def habits(one: Followed, factor: tuple[float, float] | None) -> tuple[Told, ...]:
    """Slow things: what is given differs from the plan; what unticked days were.

    Nothing while an alarm is open, or before the second weighing.
    """
    measured = [r.seen.on for r in one.seen if r.seen.kind in {"weigh", "count"}]
    if factor is None or one.alarm or len(measured) < LEAST_READINGS:
        return ()
    out: list[Told] = []

    def told(habit: Habit, mean: float, sd: float, chance: float) -> None:
        lo, hi = mean - Z_10 * sd, mean + Z_10 * sd
        out.append(Told(habit, lo, mean, hi, chance, len(measured), measured[-1]))

    mean, sd = factor
    less, more = _below(LITTLE, mean, sd), 1 - _below(MUCH, mean, sd)
    if less > SURE:
        told("gives_less", mean, sd, less)
    elif more > SURE:
        told("gives_more", mean, sd, more)
    if one.days.unticked.any():
        mean, sd = _unticked(one)
        done, not_done = 1 - _below(MOSTLY_DONE, mean, sd), _below(MOSTLY_NOT, mean, sd)
        if done > SURE_OF_TICKS:
            told("unticked_done", mean, sd, done)
        elif not_done > SURE_OF_TICKS:
            told("unticked_left_out", mean, sd, not_done)
    return tuple(out)


def _unticked(one: Followed) -> tuple[float, float]:
    """Share of unticked doses that were given: g/f, mean and sd to first order."""
    state, lines = one.held.state, len(one.days.lines)
    f, g = state.mean[1 : lines + 1].mean(0), state.mean[lines + 1]
    ratio = g / np.where(np.abs(f) > 1e-9, f, 1.0)
    weight = np.zeros((lines + 1, len(f)))
    weight[:lines], weight[lines] = -ratio / lines, 1.0
    own = slice(1, lines + 2)
    variance = np.einsum("kc,kjc,jc->c", weight, state.cov[own, own], weight) / f**2
    mean, spread = mixture(one.held.share, ratio, variance)
    return (mean, sqrt(spread)) if lines else (UNTICKED_DONE, 1.0)


def _below(limit: float, mean: float, sd: float) -> float:
    from scipy.special import ndtr

    return float(ndtr((limit - mean) / max(sd, 1e-12)))
