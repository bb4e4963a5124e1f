"""When a task is due for one tank: by calendar, from done, from flooding, over a closure.

The start-up dates are those of the list of tasks counted by hand from day 0; the rest is arithmetic
on the Gregorian calendar. Cadences: common practice, no source.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from maintenance.schedule.lateness import HarmClass, Shift
from maintenance.schedule.occurrences import Life, TaskRule, first_from_done, occurrences

LONDON = ZoneInfo("Europe/London")


def d(text: str) -> date:
    return date.fromisoformat(text)


def rule(text: str, counts_from: str = "due", **more: Any) -> TaskRule:
    return TaskRule(text, counts_from, **{"harm": HarmClass.C, "start": d("2026-01-01"), **more})


def due(
    task: TaskRule, life: Life, first: str, last: str, closed: set[date] | None = None
) -> list[str]:
    found = occurrences(task, life, d(first), d(last), zone=LONDON, closed=closed or set())
    return [each.due_on.isoformat() for each in found]


def test_by_calendar_within_the_life_of_tank_and_template() -> None:
    daily = rule("FREQ=DAILY", end=d("2026-03-15"))
    life = Life(since=d("2026-03-12"))
    assert due(daily, life, "2026-03-10", "2026-03-20") == [
        "2026-03-12", "2026-03-13", "2026-03-14",
    ]  # fmt: skip


def test_from_done_there_is_one_at_a_time_even_when_it_is_late() -> None:
    filters = rule("FREQ=WEEKLY;INTERVAL=6", "done")
    assert due(filters, Life(last_done_on=d("2026-02-05")), "2026-03-12", "2026-03-19") == [
        "2026-03-19"
    ]
    assert due(filters, Life(last_done_on=d("2026-02-06")), "2026-03-12", "2026-03-19") == []
    assert due(filters, Life(last_done_on=d("2026-01-08")), "2026-03-12", "2026-03-19") == [
        "2026-02-19"
    ]


def test_never_done_a_young_layout_waits_one_interval() -> None:
    filters = rule("FREQ=WEEKLY;INTERVAL=6", "done")
    assert first_from_done(filters, Life(number=3, flooded_on=d("2026-02-01"))) == d("2026-03-15")


def test_never_done_older_layouts_are_spread_over_one_interval() -> None:
    filters = rule("FREQ=WEEKLY;INTERVAL=3", "done")
    dates = [
        first_from_done(filters, Life(number=number, flooded_on=d("2025-06-01")))
        for number in range(42)
    ]
    days = sorted(day - d("2026-01-01") for day in dates)
    assert days == sorted([timedelta(days=1 + day) for day in range(21)] * 2)


def test_from_flooding_between_its_days_of_the_layout() -> None:
    changes = rule("FREQ=DAILY;INTERVAL=2", "flooding", from_day=9, to_day=14, harm=HarmClass.A)
    life = Life(flooded_on=d("2026-03-01"))
    assert due(changes, life, "2026-03-01", "2026-04-01") == [
        "2026-03-10", "2026-03-12", "2026-03-14",
    ]  # fmt: skip
    assert due(changes, life, "2026-03-12", "2026-03-13") == ["2026-03-12"]
    assert due(changes, Life(), "2026-03-01", "2026-04-01") == []


def test_the_steps_of_a_start_up_do_not_depend_on_the_day_one_asks() -> None:
    changes = rule("FREQ=DAILY;INTERVAL=2", "flooding", from_day=9)
    life = Life(flooded_on=d("2026-03-01"))
    whole = due(changes, life, "2026-03-01", "2026-03-31")
    by_day: list[str] = []
    for offset in range(31):
        day = (d("2026-03-01") + timedelta(days=offset)).isoformat()
        by_day += due(changes, life, day, day)
    assert by_day == whole


@pytest.mark.parametrize(
    ("harm", "shift", "expected"),
    [
        ("B", Shift.EARLIER, "2026-12-23"),
        ("B", Shift.LATER, "2026-12-27"),
        ("B", Shift.KEEP, "2026-12-25"),
        ("A", Shift.LATER, "2026-12-25"),
    ],
)
def test_a_closure_moves_the_due_date_and_not_the_name_of_the_occurrence(
    harm: str, shift: Shift, expected: str
) -> None:
    friday = rule("FREQ=WEEKLY;BYDAY=FR", harm=HarmClass(harm), shift=shift)
    closed = {d("2026-12-24"), d("2026-12-25"), d("2026-12-26")}
    (found,) = occurrences(
        friday, Life(), d("2026-12-21"), d("2026-12-28"), zone=LONDON, closed=closed
    )
    assert (found.rule_on, found.due_on) == (d("2026-12-25"), d(expected))


def test_a_task_for_the_days_on_which_the_clocks_change() -> None:
    clocks = rule("FREQ=DAILY", on_clock_change_only=True)
    assert due(clocks, Life(), "2026-01-01", "2026-12-31") == ["2026-03-29", "2026-10-25"]
