"""Minutes of the days ahead, against sums by hand."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from maintenance.schedule.labour import Work, minutes_by_day
from maintenance.schedule.lateness import HarmClass, Shift
from maintenance.schedule.occurrences import Life, TaskRule

pytestmark = pytest.mark.once

ZONE = ZoneInfo("Europe/London")
MONDAY = date(2026, 3, 16)
LAST = date(2026, 4, 12)


def rule(text: str, counts_from: str = "due", **more: object) -> TaskRule:
    return TaskRule(text, counts_from, HarmClass.B, date(2026, 1, 5), **more)  # type: ignore[arg-type]


def work(found: TaskRule, life: Life | None = None, minutes: int = 10) -> Work:
    return Work(found, life or Life(), Decimal(minutes), lambda _: True)


def test_each_day_asks_its_minutes() -> None:
    found = minutes_by_day(
        [work(rule("FREQ=DAILY")), work(rule("FREQ=WEEKLY;BYDAY=TU"), minutes=20)],
        MONDAY, LAST, zone=ZONE,
    )  # fmt: skip
    assert found[MONDAY] == 10
    assert found[date(2026, 3, 17)] == 30
    # 28 days of 10 and four Tuesdays of 20
    assert sum(found.values()) == 360


def test_what_counts_from_done_comes_again_and_again() -> None:
    three = rule("FREQ=WEEKLY;INTERVAL=3", "done")
    found = minutes_by_day(
        [work(three, Life(last_done_on=date(2026, 3, 2)))], MONDAY, LAST, zone=ZONE
    )
    assert set(found) == {date(2026, 3, 23)}
    late = minutes_by_day(
        [work(three, Life(last_done_on=date(2026, 1, 2)))], MONDAY, LAST, zone=ZONE
    )
    assert set(late) == {MONDAY, date(2026, 4, 6)}


def test_a_start_up_asks_by_the_day_of_its_flooding() -> None:
    first = rule("FREQ=DAILY", "flooding", from_day=1, to_day=7)
    flooded = date(2026, 3, 20)
    found = minutes_by_day([work(first, Life(flooded_on=flooded))], MONDAY, LAST, zone=ZONE)
    assert min(found) == flooded + timedelta(days=1)
    assert len(found) == 7


def test_a_closed_day_moves_work_to_the_open_day_before() -> None:
    weekly = rule("FREQ=WEEKLY;BYDAY=WE", shift=Shift.EARLIER)
    shut = {date(2026, 3, 25) + timedelta(days=n) for n in range(3)}
    found = minutes_by_day([work(weekly)], MONDAY, LAST, zone=ZONE, closed=shut)
    assert date(2026, 3, 24) in found
    assert date(2026, 3, 25) not in found
    assert len(found) == 4


def test_what_is_not_asked_on_a_day_takes_no_minutes() -> None:
    daily = Work(rule("FREQ=DAILY"), Life(), Decimal(10), lambda day: day.weekday() < 5)
    assert sum(minutes_by_day([daily], MONDAY, LAST, zone=ZONE).values()) == 200


def test_work_moves_over_the_border_of_the_window() -> None:
    weekly = rule("FREQ=WEEKLY;BYDAY=MO", shift=Shift.EARLIER)
    shut = {LAST + timedelta(days=1)}
    found = minutes_by_day([work(weekly)], MONDAY, LAST, zone=ZONE, closed=shut)
    # the Monday after the window is closed: its work falls on the Sunday within
    assert LAST in found
