"""Is it said when worker or beat stand still, and what that means?"""

from datetime import timedelta

import pytest

from gallery_ops.kernel.models import Heartbeat
from gallery_ops.kernel.queries.health import BEAT, WORKER, health
from gallery_ops.kernel.services.health import note_alive
from tests.builders.people import AT

pytestmark = pytest.mark.django_db


def seen(worker_s: int | None, beat_s: int | None) -> None:
    """Both were last seen so many seconds ago."""
    for kind, ago in ((WORKER, worker_s), (BEAT, beat_s)):
        if ago is not None:
            note_alive(kind=kind, at=AT - timedelta(seconds=ago))


@pytest.mark.parametrize(
    ("worker_s", "beat_s", "state", "words"),
    [
        (0, 0, "ok", ""),
        (59, 59, "ok", ""),
        (60, 0, "late", ""),
        (179, 60, "late", ""),
        (180, 10, "stopped", "The worker in the background stands still for 3 min"),
        (5, 180, "stopped", "The clock in the background stands still for 3 min"),
        (7200, 7200, "stopped", "The clock in the background stands still for 120 min"),
        (None, None, "never", "The clock in the background stands still and has not been seen"),
        (None, 5, "never", "The worker in the background stands still and has not been seen"),
    ],
)
def test_late_after_60_s_stopped_after_180_s(
    worker_s: int | None, beat_s: int | None, state: str, words: str
) -> None:
    seen(worker_s, beat_s)
    answer = health(at=AT)
    assert answer.state == state
    assert answer.stopped is (state == "stopped")
    assert answer.sentence.startswith(words) if words else answer.sentence == ""
    if words:
        assert "what you record is kept" in answer.sentence
        assert "Go by the written plan" in answer.sentence


@pytest.mark.once
def test_one_query(django_assert_num_queries) -> None:
    with django_assert_num_queries(1):
        health(at=AT)


def test_an_older_note_never_replaces_a_newer_one() -> None:
    note_alive(kind=WORKER, at=AT, planned_at=AT)
    note_alive(kind=WORKER, at=AT - timedelta(hours=1))
    row = Heartbeat.objects.get()
    assert (row.seen_at, row.planned_at) == (AT, AT)
