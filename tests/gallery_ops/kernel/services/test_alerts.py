"""Does each alert exist once while its cause stands, and close by itself?"""

import threading
from datetime import date, timedelta

import pytest
from django.db import connection, connections
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.errors import Forbidden, Unknown
from gallery_ops.kernel.models import Alert, AuditEntry, Showroom
from gallery_ops.kernel.queries.alerts import (
    alerts_about,
    closed_alerts,
    open_alert,
    open_alerts,
    open_count_by_class,
)
from gallery_ops.kernel.services.alerts import Wanted, acknowledge, sync_alerts
from tests.builders.people import AT, a_member, a_showroom, an_owner

HOUR = timedelta(hours=1)


def wanted(key: str, harm_class: str = "B", sentence: str = "Order carbon.") -> Wanted:
    return Wanted(harm_class, "item", key, sentence, [{"what": "runs_out", "on": date(2026, 4, 1)}])


@pytest.fixture
def showroom(db: None) -> Showroom:
    return a_showroom()


def test_opened_kept_and_closed_when_the_cause_is_gone(showroom: Showroom) -> None:
    first = sync_alerts(
        showroom=showroom, kind="reorder", wanted={"a": wanted("a"), "b": wanted("b")}, at=AT
    )
    assert first.opened == {"reorder:a", "reorder:b"}
    second = sync_alerts(showroom=showroom, kind="reorder", wanted={"b": wanted("b")}, at=AT + HOUR)
    assert (second.opened, second.altered, second.closed) == (set(), set(), {"reorder:a"})
    assert [alert.cause_key for alert in open_alerts(showroom)] == ["reorder:b"]
    closed = closed_alerts(showroom).get()
    assert (closed.cause_key, closed.opened_at, closed.closed_at) == ("reorder:a", AT, AT + HOUR)
    kept = open_alert(showroom, "reorder:b")
    assert (kept.opened_at, kept.seen_again_at) == (AT, AT + HOUR)


def test_running_it_again_changes_nothing(showroom: Showroom) -> None:
    for _ in range(3):
        sync_alerts(showroom=showroom, kind="reorder", wanted={"a": wanted("a")}, at=AT)
    assert Alert.objects.count() == 1


def test_a_cause_that_comes_back_opens_a_new_alert(showroom: Showroom) -> None:
    for hours, keys in enumerate((["a"], [], ["a"])):
        sync_alerts(
            showroom=showroom,
            kind="reorder",
            wanted={key: wanted(key) for key in keys},
            at=AT + hours * HOUR,
        )
    assert Alert.objects.count() == 2
    assert open_alert(showroom, "reorder:a").opened_at == AT + 2 * HOUR


def test_words_and_class_follow_while_it_stays_open(showroom: Showroom) -> None:
    sync_alerts(showroom=showroom, kind="reorder", wanted={"a": wanted("a")}, at=AT)
    result = sync_alerts(
        showroom=showroom,
        kind="reorder",
        wanted={"a": wanted("a", "A", "Order carbon today.")},
        at=AT + HOUR,
    )
    assert result.altered == {"reorder:a"}
    alert = open_alert(showroom, "reorder:a")
    assert (alert.harm_class, alert.sentence) == ("A", "Order carbon today.")
    assert alert.because == [{"what": "runs_out", "on": "2026-04-01"}]


def test_other_kinds_subjects_and_showrooms_are_left_alone(showroom: Showroom) -> None:
    other = a_showroom("elsewhere")
    sync_alerts(showroom=other, kind="reorder", wanted={"a": wanted("a")}, at=AT)
    sync_alerts(showroom=showroom, kind="overdue", wanted={"a": wanted("a")}, at=AT)
    sync_alerts(
        showroom=showroom, kind="reorder", wanted={"a": wanted("a"), "b": wanted("b")}, at=AT
    )
    result = sync_alerts(
        showroom=showroom, kind="reorder", wanted={}, at=AT + HOUR, subject_keys=["a"]
    )
    assert result.closed == {"reorder:a"}
    assert {a.cause_key for a in open_alerts(showroom)} == {"overdue:a", "reorder:b"}
    assert open_alerts(other).count() == 1
    with pytest.raises(ValueError, match="other subjects"):
        sync_alerts(
            showroom=showroom,
            kind="reorder",
            wanted={"b": wanted("b")},
            at=AT,
            subject_keys=["a"],
        )


@pytest.mark.once
def test_the_number_of_queries_does_not_grow(showroom: Showroom) -> None:
    counts = []
    for many in (20, 200):
        kind = f"kind{many}"
        sync_alerts(
            showroom=showroom,
            kind=kind,
            wanted={str(n): wanted(str(n)) for n in range(many)},
            at=AT,
        )
        half = {str(n): wanted(str(n), "A" if n % 2 else "B") for n in range(many // 2)}
        with CaptureQueriesContext(connection) as caught:
            sync_alerts(showroom=showroom, kind=kind, wanted=half, at=AT + HOUR)
        counts.append(len(caught))
    assert counts[0] == counts[1] <= 10


def test_worst_first_and_counted(showroom: Showroom) -> None:
    three = {"a": wanted("a", "C"), "b": wanted("b", "A"), "c": wanted("c", "C")}
    sync_alerts(showroom=showroom, kind="reorder", wanted=three, at=AT)
    assert [a.harm_class for a in open_alerts(showroom)] == ["A", "C", "C"]
    assert open_count_by_class(showroom) == {"A": 1, "C": 2}
    assert alerts_about(showroom, "item", "b").count() == 1


def test_what_an_alert_cannot_be_is_a_mistake_in_the_program(showroom: Showroom) -> None:
    with pytest.raises(ValueError, match="harm class"):
        Wanted("E", "item", "a", "s")
    with pytest.raises(ValueError, match="at most 300"):
        Wanted("A", "item", "a", "s" * 301)
    with pytest.raises(ValueError, match="at most 120"):
        sync_alerts(showroom=showroom, kind="x", wanted={"k" * 120: wanted("a")}, at=AT)


def test_a_manager_answers_once_and_a_carer_may_not(showroom: Showroom) -> None:
    owner = an_owner(showroom)
    manager, carer = a_member(owner, "manager"), a_member(owner, "carer")
    sync_alerts(showroom=showroom, kind="reorder", wanted={"a": wanted("a")}, at=AT)
    with pytest.raises(Forbidden):
        acknowledge(showroom=showroom, cause_key="reorder:a", by=carer, at=AT)
    for hours in (1, 2):
        alert = acknowledge(
            showroom=showroom, cause_key="reorder:a", by=manager, at=AT + hours * HOUR
        )
    assert (alert.acknowledged_at, alert.acknowledged_by) == (AT + HOUR, manager.person)
    assert alert.closed_at is None
    assert AuditEntry.objects.filter(deed="alert.acknowledge").count() == 1
    with pytest.raises(Unknown):
        acknowledge(showroom=showroom, cause_key="reorder:b", by=manager, at=AT)


def test_a_strangers_alert_answers_like_none(showroom: Showroom) -> None:
    stranger = an_owner(a_showroom("elsewhere"))
    sync_alerts(showroom=showroom, kind="reorder", wanted={"a": wanted("a")}, at=AT)
    with pytest.raises(Unknown):
        acknowledge(showroom=showroom, cause_key="reorder:a", by=stranger, at=AT)
    with pytest.raises(Unknown):
        acknowledge(showroom=stranger.showroom, cause_key="reorder:a", by=stranger, at=AT)


@pytest.mark.django_db(transaction=True)
def test_two_workers_at_once_open_each_alert_once() -> None:
    showroom = a_showroom()
    start, errors = threading.Barrier(4), []

    def work() -> None:
        try:
            start.wait(10)
            for turn in range(10):
                both = {str(n): wanted(str(n)) for n in range(5)}
                sync_alerts(
                    showroom=showroom,
                    kind="reorder",
                    wanted=both if turn % 2 == 0 else {},
                    at=AT + turn * HOUR,
                )
            sync_alerts(showroom=showroom, kind="reorder", wanted=both, at=AT + 20 * HOUR)
        except Exception as error:
            errors.append(error)
        finally:
            connections.close_all()

    workers = [threading.Thread(target=work) for _ in range(4)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)
    assert errors == []
    open_keys = [a.cause_key for a in open_alerts(showroom)]
    assert sorted(open_keys) == sorted(set(open_keys))
    sync_alerts(
        showroom=showroom,
        kind="reorder",
        wanted={str(n): wanted(str(n)) for n in range(5)},
        at=AT + 30 * HOUR,
    )
    assert sorted(a.cause_key for a in open_alerts(showroom)) == [f"reorder:{n}" for n in range(5)]
