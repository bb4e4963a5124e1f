"""Overdue alerts at each boundary: opened once, kept, closed by themselves.

Source of the waits (A 30 minutes, B 2 days, C 7 days, D weekly list only): common practice, no
source.
"""

from __future__ import annotations

import threading
from datetime import date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.models import Alert
from maintenance.models import DueTask
from maintenance.queries.due import weekly_list
from maintenance.services.due_tasks import ensure
from maintenance.services.overdue import review
from tests.maintenance.house import FIRST_DAY, House, a_house, a_tank, day, on

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


def open_alerts(house: House) -> dict[str, Alert]:
    rows = Alert.objects.of(house.showroom).filter(closed_at=None, kind="overdue")
    return {row.cause_key: row for row in rows}


def only(house: House, *keys: str) -> None:
    """Leave open what the test is about."""
    DueTask.objects.exclude(template__key__in=keys).update(state="done")


@pytest.fixture
def house() -> House:
    made = a_house()
    a_tank(made, "T01")
    a_tank(made, "T02")
    ensure(showroom=made.showroom, at=on(FIRST_DAY), days_ahead=6)
    return made


def boundary(house: House, key: str) -> tuple[DueTask, datetime]:
    """A due task and the instant from which it counts late, worked out by hand."""
    task = DueTask.objects.filter(template__key=key, tank=house.tanks["T01"]).order_by("due_on")[0]
    next_day = on(task.due_on + timedelta(days=1), "04:00")
    by_hand = {
        "look": on(task.due_on, "09:30"),
        "dose": on(task.due_on + timedelta(days=2), "09:00"),
        "water_change": next_day + timedelta(days=2),
        "inside_glass": next_day + timedelta(days=7),
    }
    return task, by_hand[key]


@pytest.mark.parametrize(
    ("key", "harm"), [("look", "A"), ("dose", "B"), ("water_change", "B"), ("inside_glass", "C")]
)
def test_an_alert_opens_at_its_minute_and_not_one_before(house: House, key: str, harm: str) -> None:
    task, late_at = boundary(house, key)
    DueTask.objects.exclude(pk=task.pk).update(state="done")
    review(showroom=house.showroom, at=late_at - MINUTE)
    assert open_alerts(house) == {}
    review(showroom=house.showroom, at=late_at)
    (alert,) = open_alerts(house).values()
    assert alert.harm_class == harm
    assert "T01" in alert.sentence
    (because,) = alert.because
    assert because["what"] == "overdue_task"
    assert because["tank"] == "T01"
    assert datetime.fromisoformat(because["late_since_at"]) == late_at
    assert because["due_on"] == task.due_on.isoformat()


def test_class_d_is_never_an_alert_and_stands_in_the_weekly_list(house: House) -> None:
    only(house, "outside_glass")
    friday = date(2026, 3, 13)
    review(showroom=house.showroom, at=on(friday + timedelta(days=60)))
    assert open_alerts(house) == {}
    assert weekly_list(house.showroom, on(friday)) == []
    listed = weekly_list(house.showroom, on(friday + timedelta(days=1)))
    assert [task.tank_code for task in listed] == ["T01", "T02"]


def test_a_round_not_walked_is_one_alert_a_class_that_names_its_tanks(house: House) -> None:
    only(house, "look", "feed")
    review(showroom=house.showroom, at=on(FIRST_DAY, "09:30"))
    (alert,) = open_alerts(house).values()
    assert alert.cause_key == "overdue:opening:2026-03-09:A"
    assert "T01, T02" in alert.sentence
    assert "Look" in alert.sentence
    assert "Feed" in alert.sentence
    assert len(alert.because) == 4


def test_it_keeps_to_one_alert_and_closes_by_itself(house: House) -> None:
    only(house, "look")
    review(showroom=house.showroom, at=on(FIRST_DAY, "09:30"))
    (first,) = open_alerts(house).values()
    DueTask.objects.filter(tank=house.tanks["T01"]).update(state="done")
    review(showroom=house.showroom, at=on(FIRST_DAY, "09:40"))
    (same,) = open_alerts(house).values()
    assert same.pk == first.pk
    assert "T01" not in same.sentence
    DueTask.objects.update(state="done")
    review(showroom=house.showroom, at=on(FIRST_DAY, "09:50"))
    assert open_alerts(house) == {}
    assert Alert.objects.get().closed_at == on(FIRST_DAY, "09:50")


def test_a_task_that_rests_is_not_overdue_until_it_has_rested(house: House) -> None:
    task, late_at = boundary(house, "water_change")
    DueTask.objects.exclude(pk=task.pk).update(state="done")
    until = late_at + timedelta(days=1)
    DueTask.objects.filter(pk=task.pk).update(rests_until_at=until)
    review(showroom=house.showroom, at=until - MINUTE)
    assert open_alerts(house) == {}
    review(showroom=house.showroom, at=until)
    assert len(open_alerts(house)) == 1


def test_a_task_of_the_whole_gallery_names_itself(house: House) -> None:
    only(house, "weigh_small")
    review(showroom=house.showroom, at=on(day(4), "04:00"))
    (alert,) = open_alerts(house).values()
    assert alert.cause_key == "overdue:weigh_small:fleet"
    assert alert.sentence == "Weigh bottles and small cylinders is not done. Due Tue 10 March."


def test_twenty_tanks_fit_into_one_sentence() -> None:
    house = a_house()
    for number in range(1, 21):
        a_tank(house, f"T{number:02}")
    ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=0)
    only(house, "look")
    review(showroom=house.showroom, at=on(FIRST_DAY, "10:00"))
    (alert,) = open_alerts(house).values()
    assert "T08 and 12 more" in alert.sentence
    assert len(alert.because) == 20


def test_another_showroom_hears_nothing(house: House) -> None:
    other = a_house("quayside")
    review(showroom=other.showroom, at=on(day(20)))
    assert not Alert.objects.exists()
    review(showroom=house.showroom, at=on(day(1)))
    assert not Alert.objects.of(other.showroom).exists()


@pytest.mark.once
def test_queries_do_not_grow_with_the_fleet(house: House) -> None:
    def queries() -> int:
        ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=0)
        review(showroom=house.showroom, at=on(FIRST_DAY, "10:00"))
        with CaptureQueriesContext(connection) as seen:
            review(showroom=house.showroom, at=on(FIRST_DAY, "10:01"))
        return len(seen)

    few = queries()
    for number in range(3, 13):
        a_tank(house, f"T{number:02}")
    assert queries() == few


@pytest.mark.django_db(transaction=True)
def test_two_workers_at_once_open_each_alert_once() -> None:
    house = a_house()
    for number in range(1, 4):
        a_tank(house, f"T{number:02}")
    ensure(showroom=house.showroom, at=on(FIRST_DAY))
    barrier, errors = threading.Barrier(2), []

    def work() -> None:
        try:
            barrier.wait(timeout=10)
            review(showroom=house.showroom, at=on(day(12)))
        except Exception as error:
            errors.append(error)
        finally:
            connection.close()

    workers = [threading.Thread(target=work) for _ in range(2)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(timeout=60)
    assert errors == []
    keys = list(Alert.objects.filter(closed_at=None).values_list("cause_key", flat=True))
    assert len(keys) == len(set(keys)) > 3
