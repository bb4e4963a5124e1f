"""Is a drift of the water found, and a new kit not mistaken for one?"""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from gallery_ops.kernel.values.limits import OutOfRange
from tanks.science.drift import Read, State, judge, median_distance, median_slope_per_day

STEADY = [Read(day=7.0 * week, value=4.0, method="drops", reagent_lot="A") for week in range(6)]
NUMBERS = st.lists(st.floats(-50, 50), min_size=4, max_size=12)


def _weekly(*values: float) -> list[Read]:
    return [Read(day=7.0 * week, value=value) for week, value in enumerate(values)]


def test_falling_hardness_is_found_with_the_day_it_reaches_its_limit() -> None:
    # A straight line of 0.3 a week: the answer is arithmetic by hand, (2.2 - 1) / 0.3 weeks.
    drift = judge(_weekly(4.0, 3.7, 3.4, 3.1, 2.8, 2.5, 2.2), step=0.5, low=1)
    assert drift.trend is not None
    assert drift.trend.per_week == pytest.approx(-0.3)
    assert drift.trend.now == pytest.approx(2.2)
    assert drift.trend.days_to_limit == pytest.approx(28)
    assert drift.trend.count == 7


def test_a_trend_past_its_limit_is_there_already() -> None:
    drift = judge(_weekly(2.2, 1.9, 1.6, 1.3, 1.0, 0.7), step=0.5, low=1)
    assert drift.trend is not None
    assert drift.trend.days_to_limit == 0


def test_a_trend_without_a_limit_that_way_has_no_day() -> None:
    drift = judge(_weekly(4, 4.5, 5, 5.5, 6), step=0.5, low=1)
    assert drift.trend is not None
    assert (drift.trend.limit, drift.trend.days_to_limit) == (None, None)


@pytest.mark.parametrize("value", [2.0, 6.0])
def test_one_reading_far_from_the_habit_is_away_and_no_trend(value: float) -> None:
    drift = judge([*STEADY, replace(STEADY[0], day=42, value=value)], step=0.5)
    assert (drift.state, drift.usual, drift.trend) == (State.AWAY, 4.0, None)


def test_one_step_of_the_kit_is_never_away() -> None:
    drift = judge([*STEADY, replace(STEADY[0], day=42, value=3.5)], step=0.5)
    assert (drift.state, drift.allowed) == (State.USUAL, 0.5)


@pytest.mark.parametrize("what", ["layout", "method", "reagent_lot"])
def test_a_jump_with_something_new_is_not_mistaken_for_drift(what: str) -> None:
    jump = replace(STEADY[0], day=42, value=6.0, **{what: "new"})
    drift = judge([*STEADY, jump], step=0.5, high=5)
    assert (drift.state, drift.alike) == (State.NOT_ENOUGH, 1)
    assert (drift.changed, drift.trend) == ((what,), None)


def test_the_new_lot_makes_a_habit_of_its_own() -> None:
    """Also there the trend never runs through both: one line would rise from 4 to 6."""
    new = [replace(STEADY[0], day=42 + 7.0 * n, value=6.0, reagent_lot="B") for n in range(6)]
    drift = judge([*STEADY, *new], step=0.5, high=8)
    assert (drift.state, drift.usual, drift.trend) == (State.USUAL, 6.0, None)


def test_night_is_held_against_night() -> None:
    day = [Read(7.0 * n, 6.6, light_phase="on") for n in range(6)]
    night = [Read(7.0 * n + 0.5, 7.2, light_phase="off") for n in range(6)]
    assert judge([*day, *night], step=0.05).usual == 7.2
    assert judge([*day, *night], step=0.05).state is State.USUAL
    assert judge(day + night[-1:], step=0.05).state is State.NOT_ENOUGH


def test_below_the_limit_of_the_method_is_no_number() -> None:
    low = replace(STEADY[0], day=42, value=0.5, at_limit=True)
    assert judge([*STEADY, low], step=0.5).state is State.AT_LIMIT
    after = replace(STEADY[0], day=49)
    assert judge([*STEADY, low, after], step=0.5).alike == 7


def test_readings_of_three_weeks_make_no_trend() -> None:
    assert judge(_weekly(4, 3, 2, 1), step=0.5).trend is None


def test_only_the_last_six_weeks_count() -> None:
    """An old fall is over: the newest seven are level."""
    old = _weekly(9, 8, 7, 6, 5, 4, 4, 4, 4, 4, 4, 4)
    assert judge(old, step=0.5).trend is None


def test_nothing_read_says_nothing() -> None:
    assert judge([], step=1).state is State.NOT_ENOUGH
    with pytest.raises(OutOfRange, match="more than 0"):
        judge(STEADY, step=0)


@given(NUMBERS)
def test_median_distance_and_slope_agree_with_scipy(values: list[float]) -> None:
    # Second source: scipy.stats, a library made by others.
    assert median_distance(values) == pytest.approx(stats.median_abs_deviation(values))
    reads = _weekly(*values)
    theirs = stats.theilslopes(values, [read.day for read in reads]).slope
    assert median_slope_per_day(reads) == pytest.approx(theirs, abs=1e-9)


@given(NUMBERS, st.floats(-20, 20))
def test_the_same_shift_of_all_changes_nothing_but_the_habit(
    values: list[float], shift: float
) -> None:
    plain = judge(_weekly(*(round(v) for v in values)), step=0.5)
    moved = judge(_weekly(*(round(v) + round(shift) for v in values)), step=0.5)
    assert (plain.state, plain.mad, plain.allowed) == (moved.state, moved.mad, moved.allowed)
