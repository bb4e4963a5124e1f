"""The same plan ahead, otherwise: closed days, ramps at their end at once, more of everything.

Only days after ``as_of`` are changed; what was done stays.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta

from inventory.forecast.types import By, Case, PlanSegment, Pool

Change = Callable[[tuple[PlanSegment, ...]], tuple[PlanSegment, ...]]
"""What becomes of the segments ahead of one case."""
RAMP_DAYS = (7, 14, 21)
"""Nothing in week 1, then a third, two thirds and the whole (common practice, no source)."""


def otherwise(stock: Case | Pool, change: Change) -> Case | Pool:
    """The stock with its plan ahead changed."""
    if isinstance(stock, Pool):
        return replace(stock, places=tuple(_case(place, change) for place in stock.places))
    return _case(stock, change)


def _case(case: Case, change: Change) -> Case:
    tomorrow = case.as_of + timedelta(days=1)
    past, ahead = [], []
    for segment in case.plan:
        if segment.start < tomorrow and (segment.end is None or segment.end > tomorrow):
            past.append(replace(segment, end=tomorrow))
            ahead.append(replace(segment, start=tomorrow))
        else:
            (past if segment.start < tomorrow else ahead).append(segment)
    return replace(case, plan=(*past, *change(tuple(ahead))))


def times(factor: float) -> Change:
    """So many times of everything."""
    return lambda ahead: tuple(replace(one, per_day=one.per_day * factor) for one in ahead)


def closed(start: date, end: date, *, fed_by: By | None) -> Change:
    """Nothing by hand from ``start`` until ``end`` (first day open again).

    fed_by : who gives the same amounts meanwhile; None: nobody
    """

    def change(ahead: tuple[PlanSegment, ...]) -> tuple[PlanSegment, ...]:
        return tuple(part for one in ahead for part in _around(one, start, end, fed_by))

    return change


def _around(one: PlanSegment, start: date, end: date, fed_by: By | None) -> Iterator[PlanSegment]:
    if one.by != "hand":
        yield one
        return
    parts = (
        (one.start, start if one.end is None else min(start, one.end), one.by),
        (max(one.start, start), end if one.end is None else min(end, one.end), fed_by),
        (max(one.start, end), one.end, one.by),
    )
    for first, last, by in parts:
        if by is not None and (last is None or first < last):
            yield replace(one, start=first, end=last, by=by)


def ramps_at_their_end(tomorrow: date) -> Change:
    """Lines whose plan rises step by step get the last step from tomorrow on."""

    def change(ahead: tuple[PlanSegment, ...]) -> tuple[PlanSegment, ...]:
        lines: dict[str, list[PlanSegment]] = {}
        for one in ahead:
            lines.setdefault(one.line, []).append(one)
        out: list[PlanSegment] = []
        for own in lines.values():
            steps = sorted(own, key=lambda one: one.start)
            rises = any(b.per_day > a.per_day for a, b in itertools.pairwise(steps))
            late = steps[-1].start > tomorrow
            out += (
                [replace(steps[-1], start=tomorrow)] if rises or (len(own) == 1 and late) else own
            )
        return tuple(out)

    return change


def new_line(line: str, per_day: float, start: date, *, ramp: bool) -> tuple[PlanSegment, ...]:
    """A line that begins on a day, by hand each day, with the usual ramp or at once."""
    if not ramp:
        return (PlanSegment(line, "hand", start, None, "1111111", per_day),)
    edges: list[date | None] = [start + timedelta(days=days) for days in RAMP_DAYS]
    return tuple(
        PlanSegment(line, "hand", first, last, "1111111", per_day * part / 3)
        for part, (first, last) in enumerate(zip(edges, [*edges[1:], None], strict=True), 1)
        if first is not None
    )


def planned_within(stock: Case | Pool, days: int) -> float:
    """Planned use of the next ``days`` days, in the unit of the stock."""
    places = stock.places if isinstance(stock, Pool) else (stock,)
    return sum(
        segment.per_day
        for case in places
        for segment in case.plan
        for n in range(1, days + 1)
        if _asked(segment, case.as_of + timedelta(days=n))
    )


def _asked(segment: PlanSegment, day: date) -> bool:
    inside = segment.start <= day and (segment.end is None or day < segment.end)
    return inside and segment.weekdays[day.weekday()] == "1"
