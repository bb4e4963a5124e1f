"""How quickly a round was walked: the median, whatever the order in which entries arrive."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from maintenance.schedule.pace import FEWEST, pace

START = datetime(2026, 3, 12, 13, 0, tzinfo=UTC)


def looks(*seconds: int) -> list[tuple[datetime, str]]:
    moments, at = [], START
    for number, gap in enumerate((0, *seconds)):
        at += timedelta(seconds=gap)
        moments.append((at, f"stop {number}"))
    return moments


def test_the_median_of_the_ways_from_stop_to_stop() -> None:
    assert pace(looks(3, 4, 5, 60, 300)) == (timedelta(seconds=5), 5)


def test_few_stops_say_nothing() -> None:
    assert pace(looks(*[2] * (FEWEST - 1))) is None
    assert pace(looks(*[2] * FEWEST)) == (timedelta(seconds=2), FEWEST)


def test_a_second_look_at_a_stop_is_no_pace() -> None:
    once = looks(20, 20, 20, 20, 20)
    assert pace([*once, *((at + timedelta(seconds=1), stop) for at, stop in once)]) == pace(once)


@given(st.lists(st.integers(1, 600), min_size=FEWEST, max_size=40), st.randoms())
def test_the_order_of_arrival_changes_nothing(gaps: list[int], luck: object) -> None:
    made = looks(*gaps)
    shuffled = list(made)
    luck.shuffle(shuffled)  # type: ignore[attr-defined]
    found = pace(shuffled)
    assert found == pace(made)
    assert found is not None
    assert min(gaps) <= found[0].total_seconds() <= max(gaps)
