"""What somebody found out about an alarm, as the filter takes it: its days hold the named thing.

An answer says what happened and when, never how much: the size stays to be learned from the
weighings, with the same width as the hypothesis of that name has.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

from inventory.forecast.change import (
    GAIN_SHARE,
    LOSS_SHARE,
    MISREAD_TIMES,
    PART_DAY_SD,
    RATE_MEAN,
    RATE_SD,
    usual_use,
)
from inventory.forecast.days import Days
from inventory.forecast.readings import Reading, usable_of
from inventory.forecast.types import Answer, Case

BookedRow = tuple[int, float, float, bool]
"""Day of history, amount, variance, is it a receipt."""


@dataclass(frozen=True, slots=True)
class Given:
    """What the answers of a case change. Numbers of readings count from 0."""

    booked: list[BookedRow]
    """All bookings with what answers add to them."""
    quiet: set[int] = field(default_factory=set)
    """Readings whose interval was looked into."""
    misread: dict[int, float] = field(default_factory=dict)
    """Times of the variance of readings that are not to be believed."""
    rate: tuple[float, float] = (0.0, 0.0)
    """Mean and sd of a steady loss a day."""
    loss_days: list[float] = field(default_factory=list)
    """Days of that loss before each reading, and after the last."""
    runs_on: bool = False


def given(case: Case, days: Days, seen: tuple[Reading, ...]) -> Given:
    """Bookings and answers of a case; without answers only its bookings."""
    booked = [
        ((e.on - case.history_from).days, e.amount, e.sd**2, e.kind == "receipt")
        for e in case.events
    ]
    out = Given(booked)
    for answer in case.answers:
        spans = intervals(case, seen, answer)
        out.quiet.update(spans)
        if spans:
            out = _take(out, case, days, seen, answer, spans[0])
    return out


def intervals(case: Case, seen: tuple[Reading, ...], answer: Answer) -> list[int]:
    """Numbers of the readings in whose interval days of the answer lie; never the first."""
    lo, hi = ((day - case.history_from).days for day in (answer.from_day, answer.to_day))
    return [
        n
        for n in range(1, len(seen))
        if seen[n - 1].at <= hi and seen[n].at > lo and seen[n].at > seen[n - 1].at
    ]


def _take(
    out: Given, case: Case, days: Days, seen: tuple[Reading, ...], answer: Answer, n: int
) -> Given:
    usable, before = usable_of(case), seen[n - 1].at
    if answer.name == "sudden_loss":
        out.booked.append((before, -LOSS_SHARE * usable, (LOSS_SHARE * usable) ** 2, False))
    elif answer.name == "unbooked_gain":
        out.booked.append((before, GAIN_SHARE * usable, (GAIN_SHARE * usable) ** 2, False))
    elif answer.name == "wrong_reading":
        out.misread[n] = MISREAD_TIMES
    elif answer.name == "booked_late" and n + 1 < len(seen):
        for k, (at, amount, variance, is_receipt) in enumerate(out.booked):
            if is_receipt and seen[n].at <= at < seen[n + 1].at:
                out.booked[k] = (before, amount, variance, True)
    elif answer.name == "steady_loss":
        return _leak(out, case, days, seen, answer, n)
    return out


def _leak(
    out: Given, case: Case, days: Days, seen: tuple[Reading, ...], answer: Answer, n: int
) -> Given:
    """A loss that began between two readings and runs until it was stopped."""
    use = usual_use(days, usable_of(case))
    began = (seen[n - 1].at + seen[n].at) / 2
    stopped = answer.stopped_on
    end = days.past if stopped is None else (stopped - case.history_from).days + 1
    edges = [0, *(r.at for r in seen), days.past]
    lengths = [max(0.0, min(hi, end) - max(lo, began)) for lo, hi in itertools.pairwise(edges)]
    spread = (PART_DAY_SD * (seen[n].at - seen[n - 1].at) * RATE_MEAN * use) ** 2
    booked = [*out.booked, (seen[n - 1].at, 0.0, spread, False)]
    return Given(
        booked,
        out.quiet,
        out.misread,
        rate=(RATE_MEAN * use, RATE_SD * use),
        loss_days=lengths,
        runs_on=stopped is None,
    )
