"""How many minutes does a list of tasks ask on each day ahead?

Unlike the list of due tasks, which holds one occurrence at a time of what counts from the day it
was done, this looks weeks ahead as if every task were done on the day it is due.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import lru_cache
from zoneinfo import ZoneInfo

from maintenance.schedule.lateness import moved_for_closure
from maintenance.schedule.occurrences import Life, TaskRule, first_from_done, occurrences
from maintenance.schedule.recurrence import next_from_done

WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Work:
    """One task of one subject. ``holds``: is it asked at all on this date of its rule?"""

    rule: TaskRule
    life: Life
    minutes: Decimal
    holds: Callable[[date], bool]


def minutes_by_day(
    works: Iterable[Work],
    first: date,
    last: date,
    *,
    zone: ZoneInfo,
    closed: Collection[date] = (),
) -> dict[date, Decimal]:
    """Minutes due on each day from `first` to `last`, both included; days without work left out."""
    out: dict[date, Decimal] = {}
    for work in works:
        for on in _dates(work.rule, _what_counts(work.rule, work.life, first), first, last, zone):
            if not work.holds(on):
                continue
            day = moved_for_closure(on, work.rule.harm, work.rule.shift, closed)
            if first <= day <= last:
                out[day] = out.get(day, Decimal(0)) + work.minutes
    return out


def _what_counts(rule: TaskRule, life: Life, first: date) -> Life:
    """Of a life only what moves this rule, so that subjects alike share one answer."""
    number = life.number if rule.is_spread else 0
    if rule.counts_from == "done":
        return life
    if rule.counts_from == "flooding":
        return Life(flooded_on=life.flooded_on)
    since = life.since if life.since is not None and life.since > first else None
    return Life(number=number, since=since)


@lru_cache(maxsize=4096)
def _dates(rule: TaskRule, life: Life, first: date, last: date, zone: ZoneInfo) -> tuple[date, ...]:
    """Dates of the rule, two weeks around the window too: a closed day moves them across it."""
    if rule.counts_from == "done":
        return tuple(_one_after_another(rule, life, first, last))
    found = occurrences(rule, life, first - 2 * WEEK, last + 2 * WEEK, zone=zone)
    return tuple(one.rule_on for one in found)


def _one_after_another(rule: TaskRule, life: Life, first: date, last: date) -> Iterable[date]:
    """As if each were done on its day; what is late already is done on the first day."""
    if life.last_done_on is None:
        day = first_from_done(rule, life)
    else:
        day = next_from_done(rule.text, life.last_done_on)
    day = max(day, first)
    while day <= last and (rule.end is None or day < rule.end):
        yield day
        day = next_from_done(rule.text, day)
