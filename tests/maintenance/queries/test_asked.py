"""Each tank is asked for a number once in every week, on a day that nobody can foresee."""

from collections import Counter
from datetime import date, timedelta

from maintenance.queries.pack_parts import is_asked_on, is_photo_asked_on

MONDAY = date(2026, 1, 5)


def test_once_in_every_calendar_week():
    for n in range(40):
        for week in range(30):
            first = MONDAY + timedelta(weeks=week)
            asked = [is_asked_on(f"T{n:02}", first + timedelta(days=day)) for day in range(7)]
            assert sum(asked) == 1


def test_no_habit_of_a_weekday():
    days = Counter(
        (MONDAY + timedelta(days=n)).weekday()
        for n in range(700)
        if is_asked_on("T11", MONDAY + timedelta(days=n))
    )
    assert len(days) == 7
    assert max(days.values()) < 35


def test_the_fleet_is_spread_over_the_week():
    each = [
        sum(is_asked_on(f"T{n:02}", MONDAY + timedelta(days=d)) for n in range(70))
        for d in range(7)
    ]
    assert sum(each) == 70
    assert max(each) < 25


def test_a_photo_once_a_week_and_never_on_the_day_of_the_number():
    for n in range(40):
        for week in range(30):
            days = [MONDAY + timedelta(weeks=week, days=day) for day in range(7)]
            asked = [day for day in days if is_photo_asked_on(f"T{n:02}", day)]
            assert len(asked) == 1
            assert not is_asked_on(f"T{n:02}", asked[0])
