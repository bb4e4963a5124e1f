"""A case laid out by days: what was planned, what was ticked, what is planned ahead.

Rows are lines (tanks, feeders) in order of name, columns are days.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from inventory.forecast.prior import ALWAYS, Counts, Floats, Shares, shares
from inventory.forecast.types import Case, PlanSegment

Marks = NDArray[np.uint8]
DONE, TWICE, SKIPPED, UNTICKED = (ord(mark) for mark in "d2sm")

SHARE_DAYS = 120
AHEAD_DAYS = 560
"""Days laid out ahead: the horizon, the longest lead time (90) and a closed month."""


@dataclass(frozen=True, slots=True)
class Days:
    """Plan and ticks by day. ``(K, H)`` past from the first day of history, ``(K, A)`` ahead."""

    lines: tuple[str, ...]
    is_feeder: Floats
    done: Floats
    """Ticked plan per line and past day; a day ticked twice stands once."""
    twice: Floats
    """Plan of days ticked twice."""
    unticked: Floats
    ahead_hand: Floats
    """Plan ahead that somebody has to tick."""
    ahead_sure: Floats
    """Plan ahead that a feeder, valve or timer gives."""
    counts: Counts
    """Planned doses of the last 120 days done, skipped, unticked; none where nobody ticks."""
    shares: Shares

    @property
    def past(self) -> int:
        """Number of days of history."""
        return int(self.done.shape[1])


def lay_out(case: Case) -> Days:
    """The case by days. Raises ValueError when a tick line is longer than the history."""
    lines = tuple(sorted({s.line for s in case.plan}))
    row = {line: k for k, line in enumerate(lines)}
    past = max(0, (case.as_of - case.history_from).days + 1)
    planned, by_hand = np.zeros((len(lines), past)), np.zeros((len(lines), past))
    ahead_hand, ahead_sure = np.zeros((len(lines), AHEAD_DAYS)), np.zeros((len(lines), AHEAD_DAYS))
    is_feeder = np.zeros(len(lines))
    for segment in case.plan:
        k, hand = row[segment.line], case.ticked and segment.by == "hand"
        is_feeder[k] = max(is_feeder[k], float(segment.by == "feeder"))
        amounts = per_day(segment, case.history_from, past)
        planned[k] += amounts
        by_hand[k] += amounts if hand else 0.0
        ahead = ahead_hand if hand else ahead_sure
        ahead[k] += per_day(segment, case.as_of + timedelta(days=1), AHEAD_DAYS)
    marks = _marks(case, lines, past)
    sure = planned - by_hand
    twice = marks == TWICE
    ticked = (marks == DONE) | twice
    counts = _counts(marks, by_hand) if case.ticked else (0, 0, 0)
    return Days(
        lines=lines,
        is_feeder=is_feeder,
        done=sure + np.where(ticked, by_hand, 0.0),
        twice=np.where(twice, by_hand, 0.0),
        unticked=np.where(marks == UNTICKED, by_hand, 0.0),
        ahead_hand=ahead_hand,
        ahead_sure=ahead_sure,
        counts=counts,
        shares=shares(counts, counts) if case.ticked else ALWAYS,
    )


def per_day(segment: PlanSegment, start: date, days: int) -> Floats:
    """Planned amount on each of ``days`` days from ``start``."""
    lo = min(days, max(0, (segment.start - start).days))
    hi = days if segment.end is None else min(days, max(lo, (segment.end - start).days))
    wanted = np.array([mark == "1" for mark in segment.weekdays], dtype=bool)
    weekday = (start.weekday() + np.arange(days)) % 7
    out = np.where(wanted[weekday], segment.per_day, 0.0)
    out[:lo] = 0.0
    out[hi:] = 0.0
    return out


def _marks(case: Case, lines: tuple[str, ...], past: int) -> Marks:
    marks = np.full((len(lines), past), UNTICKED, dtype=np.uint8)
    for k, line in enumerate(lines):
        text = case.ticks.get(line, "")
        if len(text) > past:
            msg = f"{case.case_id}: {len(text)} ticks of line {line} for {past} days of history"
            raise ValueError(msg)
        marks[k, : len(text)] = np.frombuffer(text.encode("latin-1", "replace"), dtype=np.uint8)
    return marks


def _counts(marks: Marks, by_hand: Floats) -> Counts:
    recent, planned = marks[:, -SHARE_DAYS:], by_hand[:, -SHARE_DAYS:] > 0
    done = int((planned & ((recent == DONE) | (recent == TWICE))).sum())
    skipped = int((planned & (recent == SKIPPED)).sum())
    return done, skipped, int((planned & (recent == UNTICKED)).sum())
