"""What is to be measured this week? A weekly, B monthly, C quarterly, three at random."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.forecast.counting_rule import (
    AT_RANDOM,
    INTERVAL_DAYS,
    at_random,
    due_this_week,
    monday_of,
)

THURSDAY = date(2026, 3, 12)
DAYS = st.dates(date(2025, 1, 1), date(2027, 12, 31))


@pytest.mark.parametrize(
    ("count_class", "before", "due_on", "since_on"),
    [
        ("A", date(2026, 3, 2), date(2026, 3, 9), date(2026, 3, 9)),
        ("A", date(2026, 3, 5), date(2026, 3, 12), None),
        ("A", date(2026, 3, 8), date(2026, 3, 15), None),
        ("B", date(2026, 2, 9), date(2026, 3, 11), date(2026, 3, 11)),
        ("B", date(2026, 2, 13), date(2026, 3, 15), None),
        ("B", date(2026, 2, 14), None, None),
        ("C", date(2025, 12, 14), date(2026, 3, 15), None),
        ("C", date(2025, 12, 15), None, None),
    ],
)
def test_a_class_is_due_after_its_days_and_then_counts_as_late(
    count_class: str, before: date, due_on: date | None, since_on: date | None
) -> None:
    found = due_this_week(
        count_class=count_class,
        measured_before_on=before,
        measured_this_week_on=None,
        today=THURSDAY,
    )
    if due_on is None:
        assert found is None
    else:
        assert found is not None
        assert (found.due_on, found.since_on, found.done_on) == (due_on, since_on, None)


def test_what_was_never_measured_is_asked_for_and_what_was_measured_stays_in_the_week() -> None:
    never = due_this_week(
        count_class="C", measured_before_on=None, measured_this_week_on=None, today=THURSDAY
    )
    assert never is not None
    assert never.why == "never"
    done = due_this_week(
        count_class="A",
        measured_before_on=date(2026, 3, 2),
        measured_this_week_on=date(2026, 3, 10),
        today=THURSDAY,
    )
    assert done is not None
    assert (done.done_on, done.since_on) == (date(2026, 3, 10), None)


@given(DAYS, st.sampled_from(sorted(INTERVAL_DAYS)), st.integers(1, 400))
def test_nothing_is_ever_longer_unmeasured_than_its_days_and_a_week(
    today: date, count_class: str, days: int
) -> None:
    before = monday_of(today) - timedelta(days=days)
    found = due_this_week(
        count_class=count_class, measured_before_on=before, measured_this_week_on=None, today=today
    )
    age = (today - before).days
    if age >= INTERVAL_DAYS[count_class]:
        assert found is not None
    if found is None:
        assert age < INTERVAL_DAYS[count_class]


@given(
    st.sets(st.text(min_size=1, max_size=5), max_size=30),
    st.sets(st.text(min_size=1, max_size=5), max_size=5),
    DAYS,
)
def test_three_at_random_are_the_same_all_week_and_none_of_those_planned(
    names: set[str], already: set[str], day: date
) -> None:
    monday = monday_of(day)
    chosen = at_random(names, house="a", today=day, already=already)
    assert len(chosen) == min(AT_RANDOM, len(names - already))
    assert set(chosen) <= names - already
    for n in range(7):
        week = monday + timedelta(days=n)
        assert at_random(sorted(names), house="a", today=week, already=already) == chosen


def test_every_item_comes_up_in_time_and_two_houses_draw_apart() -> None:
    names = [f"item-{n}" for n in range(30)]
    weeks = [THURSDAY + timedelta(weeks=n) for n in range(104)]
    drawn = [at_random(names, house="a", today=week) for week in weeks]
    times = {name: sum(name in chosen for chosen in drawn) for name in names}
    # 312 draws over 30 names: 10.4 each, and chance alone leaves few below 3 (binomial, own sum).
    assert min(times.values()) >= 2
    assert max(times.values()) <= 24
    assert any(at_random(names, house="b", today=w) != d for w, d in zip(weeks, drawn, strict=True))
