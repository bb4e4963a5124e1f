"""When is a task late, and how loudly must that be said?

The harm class of a task says what a miss does, and with it how long the task may wait after the
minute at which it was due:

| class | a miss harms           | counts late after | where it is said             |
|-------|------------------------|-------------------|------------------------------|
| A     | animals or people      | 30 minutes        | alert                        |
| B     | plants within days     | 2 days            | alert                        |
| C     | the layout in a week   | 7 days            | alert                        |
| D     | looks only             | never by itself   | the weekly list, and no more |

The minute at which a task was due is its time of day on its business date; a task without a time of
day is due by the end of that business date, at the cut-off hour. A wait of whole days is counted on
the wall clock, whatever the length of the nights in between. Classes and waits: common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import StrEnum
from typing import Final
from zoneinfo import ZoneInfo

from maintenance.schedule.recurrence import instant_of


class HarmClass(StrEnum):
    """What a miss harms. A is the worst."""

    A = "A"
    B = "B"
    C = "C"
    D = "D"


class Shift(StrEnum):
    """What a closed day does to a task that falls on it."""

    KEEP = "keep"
    EARLIER = "earlier"
    LATER = "later"


WAIT_A: Final = timedelta(minutes=30)
WAIT_DAYS: Final = {HarmClass.B: 2, HarmClass.C: 7}
# Two years of closed days in a row is no closure but a mistake in the calendar.
_FARTHEST_DAYS: Final = 731


@dataclass(frozen=True, slots=True)
class DayRules:
    """How a showroom counts its days.

    zone : IANA zone.
    cut_off_hour : 0..12 [h]; the business day begins at this hour of the wall clock.
    """

    zone: ZoneInfo
    cut_off_hour: int


def due_at(on: date, at: time | None, rules: DayRules) -> datetime:
    """The UTC instant at which a task of this business date is due.

    on : business date of the showroom.
    at : time of day [local], or None for "some time on that day".

    A time before the cut-off belongs to the night that follows: a closing look at 00:30 of business
    date 12 March happens on 13 March by the calendar.
    """
    return instant_of(*_due_wall(on, at, rules), rules.zone)


def late_at(harm: HarmClass, on: date, at: time | None, rules: DayRules) -> datetime | None:
    """The first UTC instant at which the task counts late; None for class D."""
    if harm is HarmClass.D:
        return None
    if harm is HarmClass.A:
        return due_at(on, at, rules) + WAIT_A
    day, clock = _due_wall(on, at, rules)
    return instant_of(day + timedelta(days=WAIT_DAYS[harm]), clock, rules.zone)


def _due_wall(on: date, at: time | None, rules: DayRules) -> tuple[date, time]:
    if at is None:
        return on + timedelta(days=1), time(rules.cut_off_hour)
    return (on + timedelta(days=1) if at.hour < rules.cut_off_hour else on), at


def is_late(harm: HarmClass, on: date, at: time | None, rules: DayRules, now: datetime) -> bool:
    """Does the task count late at `now` (aware)? Class D never does."""
    late = late_at(harm, on, at, rules)
    return late is not None and now >= late


def is_in_weekly_list(harm: HarmClass, on: date, today: date) -> bool:
    """Class D only: due before today and still open, so that the weekly list names it."""
    return harm is HarmClass.D and on < today


def moved_for_closure(on: date, harm: HarmClass, shift: Shift, closed: Collection[date]) -> date:
    """The date on which a task is done when its own falls on a closed day.

    Closed to visitors is not closed to animals: class A never moves.

    Earlier and later go to the nearest open day on that side; where two years hold no open day,
    the task stays where it was.
    """
    if harm is HarmClass.A or shift is Shift.KEEP or on not in closed:
        return on
    step = timedelta(days=1 if shift is Shift.LATER else -1)
    moved = on
    for _ in range(_FARTHEST_DAYS):
        moved += step
        if moved not in closed:
            return moved
    return on
