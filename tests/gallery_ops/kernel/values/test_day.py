"""To which business day does an instant belong, also in the nights when the clocks change?"""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gallery_ops.kernel.values.day import (
    business_day,
    business_instant,
    day_bounds,
    days,
    instant,
    zone_named,
)
from gallery_ops.kernel.values.limits import OutOfRange
from tests.strategies import INSTANTS, ZONES

CUT_OFFS = st.integers(0, 11)


@given(INSTANTS, ZONES, CUT_OFFS)
def test_an_instant_lies_within_the_bounds_of_its_day(at: datetime, zone: str, cut: int) -> None:
    day = business_day(at, zone, cut)
    start, end = day_bounds(day, zone, cut)
    assert start <= at < end


@given(INSTANTS, ZONES, CUT_OFFS)
def test_one_day_ends_where_the_next_begins(at: datetime, zone: str, cut: int) -> None:
    day = business_day(at, zone, cut)
    assert day_bounds(day, zone, cut)[1] == day_bounds(day + timedelta(days=1), zone, cut)[0]


@given(INSTANTS, st.timedeltas(timedelta(0), timedelta(days=3)), ZONES, CUT_OFFS)
def test_days_never_run_backwards(at: datetime, later: timedelta, zone: str, cut: int) -> None:
    assert business_day(at + later, zone, cut) >= business_day(at, zone, cut)


def test_a_closing_round_after_midnight_belongs_to_yesterday() -> None:
    assert business_day(datetime(2026, 3, 13, 0, 30, tzinfo=UTC), "Europe/London", 4) == date(
        2026, 3, 12
    )
    assert business_day(datetime(2026, 3, 13, 4, 0, tzinfo=UTC), "Europe/London", 4) == date(
        2026, 3, 13
    )


def test_nights_when_the_clocks_change_are_an_hour_short_or_long() -> None:
    """Summer time in the UK runs from the last Sunday of March to that of October, 01:00 UTC.

    Source: Summer Time Act 1972 as amended by the Summer Time Order 2002 (SI 2002/262).
    """
    start, end = day_bounds(date(2026, 3, 28), "Europe/London", 4)
    assert end - start == timedelta(hours=23)
    start, end = day_bounds(date(2026, 10, 24), "Europe/London", 4)
    assert end - start == timedelta(hours=25)


def test_a_time_that_the_clock_jumps_over_or_shows_twice() -> None:
    assert instant(date(2026, 3, 29), time(1, 30), "Europe/London") == datetime(
        2026, 3, 29, 1, 30, tzinfo=UTC
    )
    assert instant(date(2026, 10, 25), time(1, 30), "Europe/London") == datetime(
        2026, 10, 25, 0, 30, tzinfo=UTC
    )


@given(st.dates(date(2020, 1, 1), date(2034, 12, 31)), st.times(), ZONES, CUT_OFFS)
def test_a_clock_time_of_a_day_lies_in_that_day(day: date, at: time, zone: str, cut: int) -> None:
    moment = business_instant(day, at.replace(tzinfo=None, fold=0), zone, cut)
    start, end = day_bounds(day, zone, cut)
    assert start <= moment < end + timedelta(hours=1)


def test_an_instant_without_a_zone_is_refused() -> None:
    with pytest.raises(OutOfRange, match="with a time zone"):
        business_day(datetime(2026, 3, 12), "Europe/London", 4)  # noqa: DTZ001


@pytest.mark.parametrize("name", ["Mars/Base", "", "../etc/passwd", "europe london"])
def test_a_zone_that_does_not_exist_is_refused(name: str) -> None:
    with pytest.raises(OutOfRange, match="IANA"):
        zone_named(name)


@pytest.mark.parametrize("hour", [-1, 12, 24])
def test_a_cut_off_outside_the_night_is_refused(hour: int) -> None:
    with pytest.raises(OutOfRange, match="0 to 11"):
        business_day(datetime(2026, 3, 12, tzinfo=UTC), "UTC", hour)


def test_days_from_first_to_last() -> None:
    assert list(days(date(2026, 2, 27), date(2026, 3, 1))) == [
        date(2026, 2, 27),
        date(2026, 2, 28),
        date(2026, 3, 1),
    ]
    assert list(days(date(2026, 3, 2), date(2026, 3, 1))) == []
