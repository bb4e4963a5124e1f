"""When a task counts late, at each boundary.

Source of the waits (A 30 minutes, B 2 days, C 7 days, D weekly list only): common practice, no
source. Source of the clock changes: IANA time zone database, Europe/London.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from maintenance.schedule.lateness import (
    DayRules,
    HarmClass,
    Shift,
    due_at,
    is_in_weekly_list,
    is_late,
    late_at,
    moved_for_closure,
)

RULES = DayRules(ZoneInfo("Europe/London"), 4)
MINUTE = timedelta(minutes=1)


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def d(text: str) -> date:
    return date.fromisoformat(text)


def t(text: str) -> time | None:
    return time.fromisoformat(text) if text else None


@pytest.mark.parametrize(
    ("harm", "on", "at", "late"),
    [
        # Winter, GMT.
        ("A", "2026-03-12", "09:00", "2026-03-12T09:30"),
        ("B", "2026-03-12", "09:00", "2026-03-14T09:00"),
        ("C", "2026-03-12", "09:00", "2026-03-19T09:00"),
        # Some time on that day: due by its end at 04:00, then the wait.
        ("B", "2026-03-12", "", "2026-03-15T04:00"),
        ("C", "2026-03-12", "", "2026-03-20T04:00"),
        # Half past midnight belongs to the business day before.
        ("A", "2026-03-12", "00:30", "2026-03-13T01:00"),
        ("A", "2026-03-12", "03:59", "2026-03-13T04:29"),
        ("A", "2026-03-12", "04:00", "2026-03-12T04:30"),
        # Over the night to summer time, 29 March: 09:00 on the wall is 08:00 UTC.
        ("B", "2026-03-28", "09:00", "2026-03-30T08:00"),
        ("C", "2026-03-26", "", "2026-04-03T03:00"),
        ("A", "2026-03-28", "01:30", "2026-03-29T01:30"),  # 01:30 is left out: due 02:00 BST
        # Over the night back, 25 October: 01:30 comes twice, the first counts.
        ("A", "2026-10-24", "01:30", "2026-10-25T01:00"),
        ("B", "2026-10-24", "09:00", "2026-10-26T09:00"),
    ],
)
def test_counts_late_from_this_minute_and_not_one_before(
    harm: str, on: str, at: str, late: str
) -> None:
    harm_class, boundary = HarmClass(harm), utc(late)
    assert late_at(harm_class, d(on), t(at), RULES) == boundary
    assert not is_late(harm_class, d(on), t(at), RULES, boundary - MINUTE)
    assert is_late(harm_class, d(on), t(at), RULES, boundary)


def test_class_d_never_counts_late_but_stands_in_the_weekly_list() -> None:
    on = d("2026-03-06")
    assert late_at(HarmClass.D, on, None, RULES) is None
    assert not is_late(HarmClass.D, on, None, RULES, utc("2027-03-06T00:00"))
    assert not is_in_weekly_list(HarmClass.D, on, on)
    assert is_in_weekly_list(HarmClass.D, on, d("2026-03-07"))
    assert not is_in_weekly_list(HarmClass.C, on, d("2026-03-07"))


def test_a_task_without_a_time_is_due_at_the_end_of_its_business_day() -> None:
    assert due_at(d("2026-03-12"), None, RULES) == utc("2026-03-13T04:00")
    assert due_at(d("2026-03-12"), time(18, 30), RULES) == utc("2026-03-12T18:30")


CLOSED = {d("2026-12-24"), d("2026-12-25"), d("2026-12-26")}


@pytest.mark.parametrize(
    ("on", "harm", "shift", "expected"),
    [
        ("2026-12-25", "A", "earlier", "2026-12-25"),
        ("2026-12-25", "A", "later", "2026-12-25"),
        ("2026-12-25", "B", "keep", "2026-12-25"),
        ("2026-12-25", "B", "earlier", "2026-12-23"),
        ("2026-12-25", "C", "later", "2026-12-27"),
        ("2026-12-24", "D", "earlier", "2026-12-23"),
        ("2026-12-23", "B", "earlier", "2026-12-23"),
        ("2026-12-27", "C", "later", "2026-12-27"),
    ],
)
def test_a_closed_day_moves_a_task_but_never_class_a(
    on: str, harm: str, shift: str, expected: str
) -> None:
    assert moved_for_closure(d(on), HarmClass(harm), Shift(shift), CLOSED) == d(expected)


def test_a_calendar_without_an_open_day_leaves_the_task_where_it_was() -> None:
    first = d("2026-01-01")
    closed = {first + timedelta(days=offset) for offset in range(800)}
    assert moved_for_closure(first, HarmClass.C, Shift.LATER, closed) == first
