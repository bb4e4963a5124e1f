"""Is wanted work done once it is due, whatever happens to messages and workers?"""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import transaction

from gallery_ops.kernel import register
from gallery_ops.kernel.models import Showroom, WorkItem
from gallery_ops.kernel.queries.health import failing_work, waiting_work
from gallery_ops.kernel.services import work
from gallery_ops.kernel.services.work import want_all, want_periodic, want_work
from tests.builders.people import AT, a_showroom
from tests.gallery_ops.kernel.services.work.working import (
    noting,
    want_and_fail,
)

MINUTE = timedelta(minutes=1)


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


@pytest.mark.django_db(transaction=True)
def test_a_worker_whose_clock_is_behind_sees_what_was_done_ahead_of_it(showroom: Showroom) -> None:
    done: list[Any] = []
    noting("forecast", done)
    ahead = AT + 5 * MINUTE
    want_work(showroom, "forecast", at=AT)
    want_work(showroom, "forecast", at=ahead)
    assert work.run_due(at=AT + MINUTE) == 1
    assert done == [("undershore", "", ahead)]
    assert work.run_due(at=ahead) == 0


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
        want_and_fail(showroom)
    assert len(knocks) == 1
    assert not WorkItem.objects.filter(kind="watch").exists()


@pytest.mark.django_db(transaction=True)
def test_a_knock_inside_a_savepoint_that_is_rolled_back_is_not_counted(knocks: list[str]) -> None:
    showroom = a_showroom()
    with transaction.atomic():
        with pytest.raises(RuntimeError):
            want_and_fail(showroom)
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
