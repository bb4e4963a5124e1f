"""Dates of a task: month ends, from due, from done, and the nights on which the clocks change."""

from __future__ import annotations

import itertools
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gallery_ops.kernel.values.limits import OutOfRange
from maintenance.schedule.recurrence import (
    at_month_end,
    clocks_change_on,
    dates_between,
    instant_of,
    next_from_done,
    next_from_due,
    read_rule,
    read_rule_from_done,
)

LONDON = ZoneInfo("Europe/London")


def d(text: str) -> date:
    return date.fromisoformat(text)


# Month ends: every 29th, 30th or 31st is the last day of a month that is shorter.
# Source of the lengths of the months: the Gregorian calendar; 2026 and 2027 common, 2028 leap.
@pytest.mark.parametrize(
    ("rule", "start", "first", "last", "expected"),
    [
        (
            "FREQ=MONTHLY;BYMONTHDAY=31", "2026-01-01", "2026-01-01", "2026-06-30",
            ["2026-01-31", "2026-02-28", "2026-03-31", "2026-04-30", "2026-05-31", "2026-06-30"],
        ),
        (
            "FREQ=MONTHLY;BYMONTHDAY=-1", "2028-01-15", "2028-01-01", "2028-04-30",
            ["2028-01-31", "2028-02-29", "2028-03-31", "2028-04-30"],
        ),
        (
            "FREQ=MONTHLY", "2026-01-31", "2026-01-01", "2026-04-30",
            ["2026-01-31", "2026-02-28", "2026-03-31", "2026-04-30"],
        ),
        (
            "FREQ=MONTHLY", "2026-01-30", "2026-01-01", "2026-04-30",
            ["2026-01-30", "2026-02-28", "2026-03-30", "2026-04-30"],
        ),
        (
            "FREQ=MONTHLY", "2028-01-29", "2028-01-01", "2028-03-31",
            ["2028-01-29", "2028-02-29", "2028-03-29"],
        ),
        (
            "FREQ=MONTHLY", "2026-01-29", "2026-02-01", "2026-03-31",
            ["2026-02-28", "2026-03-29"],
        ),
        (
            "FREQ=MONTHLY", "2026-01-28", "2026-02-01", "2026-03-31",
            ["2026-02-28", "2026-03-28"],
        ),
        (
            "FREQ=MONTHLY;INTERVAL=3", "2025-08-31", "2025-08-01", "2026-08-31",
            ["2025-08-31", "2025-11-30", "2026-02-28", "2026-05-31", "2026-08-31"],
        ),
        (
            "FREQ=YEARLY", "2028-02-29", "2028-01-01", "2032-12-31",
            ["2028-02-29", "2029-02-28", "2030-02-28", "2031-02-28", "2032-02-29"],
        ),
        ("FREQ=YEARLY", "2026-08-31", "2026-01-01", "2027-12-31", ["2026-08-31", "2027-08-31"]),
    ],
)  # fmt: skip
def test_month_ends(rule: str, start: str, first: str, last: str, expected: list[str]) -> None:
    stored = read_rule(rule)
    assert dates_between(stored, d(start), d(first), d(last)) == [d(text) for text in expected]


def test_the_last_day_of_the_month_is_stored_as_minus_one() -> None:
    assert read_rule("FREQ=MONTHLY;BYMONTHDAY=31") == "FREQ=MONTHLY;BYMONTHDAY=-1"
    assert at_month_end("FREQ=MONTHLY", d("2026-03-31")) == "FREQ=MONTHLY;BYMONTHDAY=-1"
    assert at_month_end("FREQ=WEEKLY", d("2026-03-31")) == "FREQ=WEEKLY"


def test_late_completion_moves_only_a_task_that_counts_from_done() -> None:
    weekly, due, done = "FREQ=WEEKLY;INTERVAL=4", d("2026-03-05"), d("2026-03-12")
    assert next_from_due(weekly, due, done) == d("2026-04-02")
    assert next_from_done(weekly, done) == d("2026-04-09")


def test_a_rule_that_has_ended_has_no_next_date() -> None:
    assert next_from_due("FREQ=DAILY;UNTIL=20260312", d("2026-03-10"), d("2026-03-12")) is None
    assert (
        dates_between("FREQ=DAILY;COUNT=2", d("2026-03-10"), d("2026-03-12"), d("2026-04-12")) == []
    )


def test_nothing_is_due_before_the_rule_starts() -> None:
    assert dates_between("FREQ=DAILY", d("2026-03-12"), d("2026-03-01"), d("2026-03-13")) == [
        d("2026-03-12"),
        d("2026-03-13"),
    ]
    assert dates_between("FREQ=DAILY", d("2026-03-12"), d("2026-03-01"), d("2026-03-11")) == []


# Source of the nights: the IANA time zone database, Europe/London, on 29 March 2026 at 01:00 GMT
# to BST and on 25 October 2026 at 02:00 BST to GMT.
@pytest.mark.parametrize(
    ("day", "at", "expected"),
    [
        ("2026-03-29", "00:59", "2026-03-29T00:59"),
        ("2026-03-29", "01:00", "2026-03-29T01:00"),  # left out: 02:00 BST
        ("2026-03-29", "01:30", "2026-03-29T01:00"),  # left out: 02:00 BST, the next valid minute
        ("2026-03-29", "01:59", "2026-03-29T01:00"),
        ("2026-03-29", "02:00", "2026-03-29T01:00"),
        ("2026-03-29", "02:30", "2026-03-29T01:30"),
        ("2026-10-25", "00:59", "2026-10-24T23:59"),
        ("2026-10-25", "01:00", "2026-10-25T00:00"),  # twice: the first, still BST
        ("2026-10-25", "01:59", "2026-10-25T00:59"),
        ("2026-10-25", "02:00", "2026-10-25T02:00"),
        ("2026-03-12", "09:00", "2026-03-12T09:00"),
        ("2026-07-12", "09:00", "2026-07-12T08:00"),
    ],
)
def test_the_minute_of_a_task_on_the_nights_the_clocks_change(
    day: str, at: str, expected: str
) -> None:
    wanted = datetime.fromisoformat(expected).replace(tzinfo=UTC)
    assert instant_of(d(day), time.fromisoformat(at), LONDON) == wanted


def test_other_zones_leave_out_half_past_two_or_a_whole_day() -> None:
    # Source: IANA time zone database. Berlin leaves out 02:00 to 03:00 on 29 March 2026, Lord Howe
    # changes by half an hour, Apia left out 30 December 2011 altogether.
    berlin = instant_of(d("2026-03-29"), time(2, 30), ZoneInfo("Europe/Berlin"))
    assert berlin == datetime(2026, 3, 29, 1, 0, tzinfo=UTC)
    lord_howe = instant_of(d("2026-10-04"), time(2, 10), ZoneInfo("Australia/Lord_Howe"))
    assert lord_howe == datetime(2026, 10, 3, 15, 30, tzinfo=UTC)
    apia = instant_of(d("2011-12-30"), time(9), ZoneInfo("Pacific/Apia"))
    assert apia == datetime(2011, 12, 30, 10, 0, tzinfo=UTC)


def test_the_clocks_change_on_two_dates_of_the_year() -> None:
    first = d("2026-01-01")
    days = [first + timedelta(days=offset) for offset in range(365)]
    assert [day for day in days if clocks_change_on(day, LONDON)] == [
        d("2026-03-29"),
        d("2026-10-25"),
    ]
    assert not any(clocks_change_on(day, ZoneInfo("UTC")) for day in days)


def test_a_daily_task_is_due_once_on_each_date_across_both_nights() -> None:
    for first in (d("2026-03-28"), d("2026-10-24")):
        days = dates_between("FREQ=DAILY", d("2026-01-01"), first, first + timedelta(days=3))
        instants = [instant_of(day, time(1, 30), LONDON) for day in days]
        assert len(set(instants)) == 4
        assert instants == sorted(instants)


@pytest.mark.parametrize(
    "text",
    [
        "", "every day", "BYDAY=MO", "FREQ=HOURLY", "FREQ=SOMETIMES", "FREQ=DAILY;FREQ=DAILY",
        "FREQ=DAILY;BYHOUR=9", "FREQ=WEEKLY;BYDAY=XX", "FREQ=DAILY;INTERVAL=0",
        "FREQ=DAILY;INTERVAL=-1", "FREQ=DAILY;INTERVAL=x", "FREQ=DAILY;COUNT=2;UNTIL=20261231",
        "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "FREQ=DAILY;UNTIL=20261231T000000Z",
        "FREQ=MONTHLY;BYMONTHDAY=0", "FREQ=MONTHLY;BYMONTHDAY=32",
    ],
)  # fmt: skip
def test_a_rule_that_says_nothing_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        read_rule(text)
    assert refused.value.field == "rule"
    assert refused.value.allowed
    assert refused.value.remedy


def test_a_rule_from_done_names_no_weekday() -> None:
    assert read_rule_from_done("FREQ=WEEKLY;INTERVAL=2") == "FREQ=WEEKLY;INTERVAL=2"
    with pytest.raises(OutOfRange, match="counts from the day it was done"):
        read_rule_from_done("FREQ=WEEKLY;INTERVAL=2;BYDAY=TU")


@given(
    start=st.dates(d("2024-01-01"), d("2030-12-31")),
    rule=st.sampled_from(
        ["FREQ=DAILY", "FREQ=DAILY;INTERVAL=3", "FREQ=WEEKLY;BYDAY=MO,TH", "FREQ=MONTHLY"]
    ),
    cuts=st.lists(st.integers(1, 40), min_size=1, max_size=6),
)
def test_reading_the_days_in_pieces_skips_and_doubles_nothing(
    start: date, rule: str, cuts: list[int]
) -> None:
    pieces: list[date] = []
    first = start
    for length in cuts:
        last = first + timedelta(days=length - 1)
        pieces += dates_between(rule, start, first, last)
        first = last + timedelta(days=1)
    assert pieces == dates_between(rule, start, start, first - timedelta(days=1))
    assert all(earlier < later for earlier, later in itertools.pairwise(pieces))


@given(
    start=st.dates(d("2024-01-01"), d("2030-12-31")),
    months=st.integers(1, 6),
)
def test_a_monthly_task_falls_on_each_month_once(start: date, months: int) -> None:
    rule = f"FREQ=MONTHLY;INTERVAL={months}"
    found = dates_between(rule, start, start, start + timedelta(days=800))
    numbers = [day.year * 12 + day.month for day in found]
    assert numbers == list(range(numbers[0], numbers[-1] + 1, months))
    assert len(numbers) >= 4
