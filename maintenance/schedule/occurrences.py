"""On which days is this task due for this tank, given what stands in it and what was done before?

A rule counts from the calendar, from the day the task was last done, or from the day the tank was
flooded (day 0 of the layout). What comes out are the dates of the rule; a closed day moves the date
on which the task is due, never the date by which the occurrence is known.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from maintenance.schedule.lateness import HarmClass, Shift, moved_for_closure
from maintenance.schedule.recurrence import clocks_change_on, dates_between, next_from_done
from maintenance.schedule.spread import dates_of

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class TaskRule:
    """When a task is due, as its template says.

    start, end : days on which the template is in force, half-open; end None = still.
    from_day, to_day : days of the layout, both included, for a rule that counts from flooding.
    """

    text: str
    counts_from: str
    harm: HarmClass
    start: date
    end: date | None = None
    from_day: int | None = None
    to_day: int | None = None
    is_spread: bool = False
    shift: Shift = Shift.KEEP
    on_clock_change_only: bool = False


@dataclass(frozen=True, slots=True)
class Life:
    """What the rule must know of its subject.

    number : tells subjects apart that share a rule, so that they do not all fall on one day.
    since : first day on which the subject was there, None = always.
    """

    number: int = 0
    since: date | None = None
    flooded_on: date | None = None
    last_done_on: date | None = None


@dataclass(frozen=True, slots=True)
class Occurrence:
    """rule_on : the date of the rule, its name for ever. due_on : the date on which it is due."""

    rule_on: date
    due_on: date


def occurrences(
    rule: TaskRule,
    life: Life,
    first: date,
    last: date,
    *,
    zone: ZoneInfo,
    closed: Collection[date] = (),
) -> list[Occurrence]:
    """Occurrences of a task for one subject from `first` to `last`, both included.

    A task that counts from the day it was done has one occurrence at a time; when that lies before
    `first` it is there all the same, late.
    """
    if rule.end is not None:
        last = min(last, rule.end - ONE_DAY)
    if rule.counts_from == "done":
        dates = _from_done(rule, life, last)
    elif rule.counts_from == "flooding":
        dates = _from_flooding(rule, life, first, last)
    else:
        dates = dates_of(
            rule.text,
            rule.start,
            max(first, life.since or first),
            last,
            number=life.number,
            spread=rule.is_spread,
        )
    if rule.on_clock_change_only:
        dates = [day for day in dates if clocks_change_on(day, zone)]
    return [Occurrence(day, moved_for_closure(day, rule.harm, rule.shift, closed)) for day in dates]


def first_from_done(rule: TaskRule, life: Life) -> date:
    """The first date of a task that counts from done and was never done.

    A layout younger than the rule waits one whole interval. Where the layout was there before the
    rule, the first dates are spread over one interval, so that twenty filters are not due at once.
    """
    there_since = life.flooded_on or life.since
    if there_since is not None and there_since >= rule.start:
        return next_from_done(rule.text, there_since)
    interval_days = (next_from_done(rule.text, rule.start) - rule.start).days
    return rule.start + timedelta(days=1 + life.number % interval_days)


def _from_done(rule: TaskRule, life: Life, last: date) -> list[date]:
    if life.last_done_on is None:
        due = first_from_done(rule, life)
    else:
        due = next_from_done(rule.text, life.last_done_on)
    return [due] if due <= last else []


def _from_flooding(rule: TaskRule, life: Life, first: date, last: date) -> list[date]:
    if life.flooded_on is None:
        return []
    start = life.flooded_on + timedelta(days=rule.from_day or 0)
    if rule.to_day is not None:
        last = min(last, life.flooded_on + timedelta(days=rule.to_day))
    return dates_between(rule.text, start, max(first, rule.start), last)
