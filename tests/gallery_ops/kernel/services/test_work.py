"""Is wanted work done once it is due, whatever happens to messages and workers?"""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.conf import settings
from django.db import connection, connections, transaction

from gallery_ops.kernel import register
from gallery_ops.kernel.models import Showroom, WorkItem
from gallery_ops.kernel.queries.health import failing_work, waiting_work
from gallery_ops.kernel.services import work
from gallery_ops.kernel.services.work import want_all, want_periodic, want_work
from tests.builders.people import AT, a_showroom

MINUTE = timedelta(minutes=1)


@pytest.fixture(autouse=True)
def jobs(monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, register.Job]]:
    """A register of its own, so that no real job runs."""
    own: dict[str, register.Job] = {}
    monkeypatch.setattr(register, "_jobs", own)
    monkeypatch.setattr(register, "_loaded", [True])
    return own


@pytest.fixture
def knocks(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What would be sent to the broker."""
    sent: list[str] = []
    monkeypatch.setattr(work, "_quiet_until", [0.0])
    monkeypatch.setattr(work.current_app, "send_task", lambda name, **_: sent.append(name))
    return sent


@pytest.fixture
def showroom(db: None) -> Showroom:
    return a_showroom()


def noting(kind: str, done: list[Any], **more: Any) -> None:
    @register.job(kind, **more)
    def handler(showroom: Showroom, subject: str, at: datetime) -> None:
        done.append((showroom.code, subject, at))


def test_what_is_wanted_twice_is_done_once(showroom: Showroom) -> None:
    done: list[Any] = []
    noting("forecast", done)
    for _ in range(3):
        want_work(showroom, "forecast", "container:7", at=AT)
    assert waiting_work(showroom, at=AT) == 1
    assert work.run_due(at=AT + MINUTE) == 1
    assert done == [("undershore", "container:7", AT + MINUTE)]
    assert work.run_due(at=AT + MINUTE) == 0
    want_work(showroom, "forecast", "container:7", at=AT + MINUTE)
    assert work.run_due(at=AT + MINUTE) == 1


def test_nothing_is_done_before_it_is_due(showroom: Showroom) -> None:
    done: list[Any] = []
    noting("forecast", done)
    want_work(showroom, "forecast", at=AT, due_at=AT + 5 * MINUTE)
    assert work.run_due(at=AT + MINUTE) == 0
    want_work(showroom, "forecast", at=AT)
    assert work.run_due(at=AT + MINUTE) == 1


def test_what_is_wanted_while_it_is_done_is_done_once_more(showroom: Showroom) -> None:
    turns: list[int] = []

    @register.job("forecast")
    def handler(showroom: Showroom, subject: str, at: datetime) -> None:
        turns.append(1)
        if len(turns) == 1:
            want_work(showroom, "forecast", "a", at=at)

    want_work(showroom, "forecast", "a", at=AT)
    assert work.run_due(at=AT) == 2
    assert WorkItem.objects.filter(done_at=None).count() == 0


def test_an_error_is_kept_and_the_next_try_waits_longer_each_time(
    showroom: Showroom, caplog: pytest.LogCaptureFixture
) -> None:
    @register.job("forecast")
    def handler(showroom: Showroom, subject: str, at: datetime) -> None:
        raise RuntimeError("no calibration\x00")

    want_work(showroom, "forecast", "a", at=AT)
    waits, at = [], AT
    for _ in range(10):
        assert work.run_due(at=at) == 1
        row = WorkItem.objects.get()
        waits.append((row.due_at - at).total_seconds())
        at = row.due_at
    assert waits == [30, 60, 120, 240, 480, 960, 1920, 3600, 3600, 3600]
    assert row.error == "RuntimeError: no calibration "
    assert (row.tries, row.taken_at, row.done_at) == (10, None, None)
    assert [one.pk for one in failing_work(showroom)] == [row.pk]
    assert "work.failed" in caplog.text


def test_one_failing_job_does_not_stop_the_others(showroom: Showroom) -> None:
    done: list[Any] = []
    noting("good", done)
    want_work(showroom, "unheard of", at=AT)
    want_work(showroom, "good", at=AT)
    assert work.run_due(at=AT) == 2
    assert len(done) == 1
    assert "No app has a job" in WorkItem.objects.get(kind="unheard of").error


def test_a_failed_piece_is_tried_at_once_when_it_is_wanted_again(showroom: Showroom) -> None:
    want_work(showroom, "later", at=AT)
    work.run_due(at=AT)
    assert work.run_due(at=AT + timedelta(seconds=1)) == 0
    done: list[Any] = []
    noting("later", done)
    want_work(showroom, "later", at=AT + timedelta(seconds=1))
    assert work.run_due(at=AT + timedelta(seconds=1)) == 1
    row = WorkItem.objects.get()
    assert (row.error, row.done_at) == ("", AT + timedelta(seconds=1))


def test_the_row_of_a_worker_that_never_came_back_is_given_back(showroom: Showroom) -> None:
    done: list[Any] = []
    noting("forecast", done)
    want_work(showroom, "forecast", at=AT)
    taken = work.take(WorkItem.objects.get().pk, at=AT)
    assert taken is not None
    assert work.take(taken.pk, at=AT) is None
    assert work.give_back_stuck(at=AT + 9 * MINUTE) == 0
    assert work.run_due(at=AT + 9 * MINUTE) == 0
    assert work.give_back_stuck(at=AT + 10 * MINUTE) == 1
    assert work.run_due(at=AT + 10 * MINUTE) == 1
    # the first worker wakes up after all: its row is no longer its own
    work.fail(taken, RuntimeError("late"), at=AT + 11 * MINUTE)
    row = WorkItem.objects.get()
    assert (row.done_at, row.error) == (AT + 10 * MINUTE, "")


def test_periodic_work_is_wanted_for_each_showroom_when_its_time_has_passed(
    showroom: Showroom,
) -> None:
    a_showroom("elsewhere")
    done: list[Any] = []
    noting("overdue", done, every_s=300)
    noting("forecast", done)
    assert want_periodic(at=AT) == 2
    assert want_periodic(at=AT) == 0
    assert work.run_due(at=AT) == 2
    assert want_periodic(at=AT + 4 * MINUTE) == 0
    assert want_periodic(at=AT + 5 * MINUTE) == 2
    assert {code for code, _subject, _at in done} == {"undershore", "elsewhere"}


def test_work_can_be_done_for_one_showroom_or_kind_only(showroom: Showroom) -> None:
    other = a_showroom("elsewhere")
    done: list[Any] = []
    noting("a", done)
    noting("b", done)
    for kind in ("a", "b"):
        want_work(showroom, kind, at=AT)
        want_work(other, kind, at=AT)
    assert work.run_due(at=AT, showroom=showroom, kinds=["a"]) == 1
    assert work.run_due(at=AT, limit=2) == 2
    assert work.run_due(at=AT) == 1


def test_a_transaction_asks_the_database_once_for_what_it_wants_often(
    showroom: Showroom, django_assert_num_queries: Any
) -> None:
    want_work(showroom, "forecast", "container:7", at=AT)
    with django_assert_num_queries(0):
        want_work(showroom, "forecast", "container:7", at=AT)
        want_work(showroom, "forecast", "container:7", at=AT + MINUTE)
    want_work(showroom, "forecast", "container:7", at=AT - MINUTE)
    assert WorkItem.objects.get().due_at == AT - MINUTE
    want_work(showroom, "forecast", "container:8", at=AT)
    assert WorkItem.objects.count() == 2


def test_what_a_rolled_back_part_wanted_is_wanted_anew(showroom: Showroom) -> None:
    with transaction.atomic():
        with transaction.atomic():
            want_work(showroom, "forecast", at=AT)
        transaction.set_rollback(True)
    assert not WorkItem.objects.exists()
    want_work(showroom, "forecast", at=AT)
    assert WorkItem.objects.get().due_at == AT


def test_what_was_taken_since_is_wanted_once_more(showroom: Showroom) -> None:
    want_work(showroom, "forecast", at=AT)
    taken = work.take(WorkItem.objects.get().pk, at=AT)
    assert taken is not None
    want_work(showroom, "forecast", at=AT)
    work.finish(taken, at=AT)
    assert WorkItem.objects.get().done_at is None
    again = work.take(WorkItem.objects.get().pk, at=AT)
    assert again is not None
    work.finish(again, at=AT)
    want_work(showroom, "forecast", at=AT)
    assert WorkItem.objects.filter(done_at=None).count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_transaction_knocks_once_whatever_parts_of_it_were_given_up(knocks: list[str]) -> None:
    showroom = a_showroom()
    with transaction.atomic():
        with transaction.atomic():
            want_work(showroom, "a", at=AT)
            transaction.set_rollback(True)
        for kind in ("b", "c"):
            with transaction.atomic():
                want_work(showroom, kind, at=AT)
    assert len(knocks) == 1
    want_work(showroom, "b", at=AT)
    assert len(knocks) == 2


def test_done_rows_are_forgotten_after_a_week(showroom: Showroom) -> None:
    noting("a", [])
    want_work(showroom, "a", at=AT)
    work.run_due(at=AT)
    want_work(showroom, "a", at=AT)
    assert work.forget_done(at=AT + timedelta(days=6)) == 0
    assert work.forget_done(at=AT + timedelta(days=8)) == 1
    assert WorkItem.objects.get().done_at is None


def test_a_subject_that_no_column_holds_is_refused(showroom: Showroom) -> None:
    with pytest.raises(ValueError, match="at most 80"):
        want_work(showroom, "a", "x" * 81, at=AT)


def test_one_kind_has_one_handler() -> None:
    noting("a", [])
    with pytest.raises(ValueError, match="handler already"):
        noting("a", [])
    with pytest.raises(ValueError, match="at least 1 s"):
        noting("b", [], every_s=0)


@pytest.mark.django_db(transaction=True)
def test_one_knock_after_commit_and_none_after_a_rollback(knocks: list[str]) -> None:
    showroom = a_showroom()
    with transaction.atomic():
        want_all(showroom, "forecast", ["b", "a", "b"], at=AT)
        want_work(showroom, "reorder", at=AT)
        assert knocks == []
    assert knocks == ["gallery_ops.kernel.worker.run_work"]
    assert WorkItem.objects.count() == 3
    with pytest.raises(RuntimeError):
        _want_and_fail(showroom)
    assert len(knocks) == 1
    assert not WorkItem.objects.filter(kind="watch").exists()


@pytest.mark.django_db(transaction=True)
def test_a_knock_inside_a_savepoint_that_is_rolled_back_is_not_counted(knocks: list[str]) -> None:
    showroom = a_showroom()
    with transaction.atomic():
        with pytest.raises(RuntimeError):
            _want_and_fail(showroom)
        want_work(showroom, "reorder", at=AT)
    assert len(knocks) == 1


@pytest.mark.django_db(transaction=True)
def test_a_broker_that_fails_breaks_nothing(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def away(*_args: Any, **_more: Any) -> None:
        raise OSError("nobody there")

    monkeypatch.setattr(work.current_app, "send_task", away)
    monkeypatch.setattr(work, "_quiet_until", [0.0])
    showroom = a_showroom()
    for subject in ("a", "b", "c"):
        want_work(showroom, "forecast", subject, at=AT)
    assert waiting_work(showroom, at=AT) == 3
    # one try, then quiet for half a minute, since a try may take seconds
    assert caplog.text.count("work.no_knock") == 1
    start = work.clock.ticks_s()
    monkeypatch.setattr(work.clock, "ticks_s", lambda: start + 31)
    work.wake()
    assert caplog.text.count("work.no_knock") == 2


@pytest.mark.django_db(transaction=True)
def test_many_workers_do_each_piece_once(knocks: list[str]) -> None:
    showroom = a_showroom()
    done: list[str] = []

    @register.job("forecast")
    def handler(showroom: Showroom, subject: str, at: datetime) -> None:
        done.append(subject)

    want_all(showroom, "forecast", [str(n) for n in range(60)], at=AT)
    _at_once(4, lambda: work.run_due(at=AT))
    work.run_due(at=AT)
    assert sorted(done) == sorted(str(n) for n in range(60))


@pytest.mark.django_db(transaction=True)
def test_wanting_the_same_at_once_makes_one_row(knocks: list[str]) -> None:
    showroom = a_showroom()

    def want() -> None:
        for _ in range(20):
            want_work(showroom, "forecast", "a", at=AT)

    _at_once(4, want)
    assert WorkItem.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_fact_written_while_its_row_is_done_is_seen_by_a_further_run(knocks: list[str]) -> None:
    """The writer commits only after the worker began: the row must be due once more."""
    showroom = a_showroom()
    seen: list[int] = []
    wanted, began = threading.Event(), threading.Event()

    @register.job("forecast")
    def handler(showroom: Showroom, subject: str, at: datetime) -> None:
        seen.append(Showroom.objects.count())

    want_work(showroom, "forecast", "a", at=AT)

    def write() -> None:
        with transaction.atomic():
            a_showroom("fact")
            want_work(showroom, "forecast", "a", at=AT)
            wanted.set()
            began.wait(10)
            time.sleep(0.2)

    def run() -> None:
        wanted.wait(10)
        began.set()
        work.run_due(at=AT)

    _at_once_each(write, run)
    work.run_due(at=AT)
    assert seen[-1] == 2


CHILD = """
import os, sys, time
import django
django.setup()
from django.conf import settings
settings.DATABASES["default"]["NAME"] = sys.argv[1]
from django.db import connections
connections["default"].settings_dict["NAME"] = sys.argv[1]
from gallery_ops.kernel import clock, register
register._loaded.append(True)
from gallery_ops.kernel.services import work
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from datetime import datetime, UTC

@register.job("alarm")
def alarm(showroom, subject, at):
    wanted = {str(n): Wanted("A", "item", str(n), "s") for n in range(5)}
    sync_alerts(showroom=showroom, kind="alarm", wanted=wanted, at=at)
    print("half", flush=True)
    time.sleep(60)

work.run_due(at=datetime.fromisoformat(sys.argv[2]))
"""


@pytest.mark.django_db(transaction=True)
def test_a_worker_killed_in_the_middle_leaves_each_alert_once(knocks: list[str]) -> None:
    from gallery_ops.kernel.models import Alert
    from gallery_ops.kernel.services.alerts import Wanted, sync_alerts

    showroom = a_showroom()
    want_work(showroom, "alarm", at=AT)
    environment = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "gallery_ops.settings",
        "GALLERY_OPS_DATA": str(settings.DATA_DIR),
        "PYTHONPATH": str(settings.BASE_DIR),
    }
    child = subprocess.Popen(
        [sys.executable, "-c", CHILD, str(connection.settings_dict["NAME"]), AT.isoformat()],
        stdout=subprocess.PIPE,
        env=environment,
        text=True,
    )
    try:
        assert child.stdout is not None
        assert child.stdout.readline() == "half\n"
    finally:
        child.send_signal(signal.SIGKILL)
        child.communicate(timeout=20)

    @register.job("alarm")
    def alarm(showroom: Showroom, subject: str, at: datetime) -> None:
        wanted = {str(n): Wanted("A", "item", str(n), "s") for n in range(5)}
        sync_alerts(showroom=showroom, kind="alarm", wanted=wanted, at=at)

    assert Alert.objects.count() == 5
    assert work.run_due(at=AT + MINUTE) == 0
    assert work.give_back_stuck(at=AT + 11 * MINUTE) == 1
    assert work.run_due(at=AT + 11 * MINUTE) == 1
    assert Alert.objects.count() == 5
    assert WorkItem.objects.get().done_at == AT + 11 * MINUTE


def _want_and_fail(showroom: Showroom) -> None:
    with transaction.atomic():
        want_work(showroom, "watch", at=AT)
        raise RuntimeError


def _at_once(many: int, deed: Any) -> None:
    _at_once_each(*[deed] * many)


def _at_once_each(*deeds: Any) -> None:
    errors: list[BaseException] = []

    def run(deed: Any) -> None:
        try:
            deed()
        except BaseException as error:
            errors.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=(deed,)) for deed in deeds]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert errors == []
