"""Does the clock tell the machine's time, or the time it was set to?"""

import time
from datetime import UTC, datetime, timedelta

import pytest

from gallery_ops.kernel import clock


def test_it_tells_the_machines_time_in_utc(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(clock.VARIABLE, raising=False)
    told = clock.now()
    assert told.tzinfo is UTC
    assert abs(told.timestamp() - time.time()) < 5
    assert not clock.is_moved()


def test_it_runs_on_from_the_moment_it_was_set_to(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(clock.VARIABLE, "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())
    first = clock.now()
    assert first - datetime(2026, 3, 12, 8, 8, tzinfo=UTC) < timedelta(seconds=5)
    time.sleep(0.01)
    assert clock.now() > first
    assert clock.is_moved()


def test_an_offset_is_taken_into_account() -> None:
    assert clock.begin("2026-07-01T10:00+02:00") == datetime(2026, 7, 1, 8, tzinfo=UTC)


def test_what_is_no_moment_is_refused_with_an_example() -> None:
    with pytest.raises(ValueError, match="2026-03-12T08:08"):
        clock.begin("noon")
