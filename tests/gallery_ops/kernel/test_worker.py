"""Do the three tasks of the background do what their messages ask?"""

from datetime import datetime, timedelta
from typing import Any

import pytest
from celery import current_app

from gallery_ops.kernel import clock, register, worker
from gallery_ops.kernel.models import Heartbeat, Showroom, WorkItem
from gallery_ops.kernel.services.work import take, want_work
from tests.builders.people import AT, a_showroom

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_jobs_and_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(register, "_jobs", {})
    monkeypatch.setattr(register, "_loaded", [True])
    monkeypatch.setattr(clock, "now", lambda: AT)
    # the test's transaction would look like a connection that somebody left in disorder
    monkeypatch.setattr(worker, "close_old_connections", lambda: None)


def test_messages_name_tasks_that_exist_and_carry_no_content() -> None:
    ours = {name for name in current_app.tasks if not name.startswith("celery.")}
    assert ours == {f"gallery_ops.kernel.worker.{n}" for n in ("run_work", "sweep", "heartbeat")}
    for entry in current_app.conf.beat_schedule.values():
        assert entry["task"] in ours
        assert set(entry.get("kwargs", {})) <= {"planned_at"}


def test_a_knock_does_what_is_due() -> None:
    done: list[str] = []

    @register.job("forecast")
    def handler(showroom: Showroom, subject: str, at: datetime) -> None:
        done.append(subject)

    want_work(a_showroom(), "forecast", "a", at=AT)
    worker.run_work()
    worker.run_work()
    assert done == ["a"]


def test_the_sweep_does_what_no_message_announced() -> None:
    done: list[str] = []

    @register.job("overdue", every_s=60)
    def handler(showroom: Showroom, subject: str, at: datetime) -> None:
        done.append(subject)

    showroom = a_showroom()
    want_work(showroom, "overdue", "stuck", at=AT - timedelta(hours=1))
    taken = take(WorkItem.objects.get().pk, at=AT - timedelta(minutes=30))
    assert taken is not None
    worker.sweep()
    assert sorted(done) == ["", "stuck"]
    worker.sweep()
    assert len(done) == 2


def test_a_heartbeat_shows_worker_and_beat() -> None:
    sent = AT - timedelta(seconds=2)
    worker.heartbeat(planned_at=sent.isoformat())
    seen = dict(Heartbeat.objects.values_list("kind", "seen_at"))
    assert seen == {"worker": AT, "beat": sent}
    worker.heartbeat()
    assert Heartbeat.objects.get(kind="worker").planned_at == sent


def test_the_beat_notes_by_itself_that_it_lives() -> None:
    assert worker.planned_time() == AT.isoformat()
    assert Heartbeat.objects.get().kind == "beat"


def test_a_database_that_is_away_does_not_stop_the_beat(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def away(**_: Any) -> None:
        raise OSError("away")

    monkeypatch.setattr(worker, "note_alive", away)
    assert worker.planned_time() == AT.isoformat()
    assert "beat.no_note" in caplog.text
