"""Skips that somebody else must mend reach the manager, and close by themselves."""

from datetime import time, timedelta

import pytest

from gallery_ops.kernel.queries.alerts import open_alerts
from gallery_ops.kernel.values.day import instant
from maintenance.models import DueTask
from maintenance.queries.due import open_tasks
from maintenance.services import due_tasks, skip_alerts
from maintenance.services.completions import complete
from maintenance.services.overdue import late_tasks
from maintenance.services.skips import skip, take_back_skip
from maintenance.services.templates import load_templates
from tests.builders.gallery import AT, a_person, a_planted_tank

pytestmark = pytest.mark.django_db


@pytest.fixture
def tank():
    tank = a_planted_tank("T01", at=AT - timedelta(days=100))
    load_templates(showroom=tank.showroom, at=AT - timedelta(days=10))
    for days in range(4, -1, -1):
        due_tasks.ensure(showroom=tank.showroom, at=AT - timedelta(days=days), days_ahead=0)
    return tank


@pytest.fixture
def bram(tank):
    return a_person("carer", showroom=tank.showroom)


def looks(tank):
    return list(DueTask.objects.filter(tank=tank, template__key="look").order_by("due_on"))


def sentences(tank):
    skip_alerts.review(tank.showroom, AT)
    return [alert.sentence for alert in open_alerts(tank.showroom, kind="skip")]


def test_a_broken_tool_is_told_until_the_task_is_done(tank, bram):
    task = looks(tank)[-1]
    skip(due_task=task, reason="tool_broken", text="lamp of the torch", by=bram, at=AT)
    assert sentences(tank) == [f"{task.template.name} T01 was skipped: tool broken."]
    complete(due_task=task, by=bram, at=AT + timedelta(minutes=5))
    assert sentences(tank) == []


def test_short_of_time_once_is_told_to_nobody(tank, bram):
    skip(due_task=looks(tank)[-1], reason="short_of_time", by=bram, at=AT)
    assert sentences(tank) == []


def test_three_in_a_row_are_told_and_one_done_between_breaks_the_row(tank, bram):
    tasks = looks(tank)
    for task in tasks[-3:]:
        skip(due_task=task, reason="short_of_time", by=bram, at=AT)
    assert ["3 times in a row" in words for words in sentences(tank)] == [True]
    complete(due_task=tasks[-2], by=bram, at=AT)
    assert sentences(tank) == []


def test_a_skip_taken_back_is_no_skip(tank, bram):
    row = skip(due_task=looks(tank)[-1], reason="out_of_stock", by=bram, at=AT)
    assert len(sentences(tank)) == 1
    take_back_skip(skip=row, by=bram, at=AT)
    assert sentences(tank) == []


def test_twice_reviewed_is_told_once(tank, bram):
    skip(due_task=looks(tank)[-1], reason="needs_skill", by=bram, at=AT)
    assert sentences(tank) == sentences(tank)
    assert open_alerts(tank.showroom, kind="skip").count() == 1


def test_put_off_to_a_day_it_is_late_for_that_day_only(tank, bram):
    task = looks(tank)[-1]
    day_after = instant(task.due_on + timedelta(days=1), time(4), tank.showroom.tz)
    skip(due_task=task, reason="animals_rest", until_at=day_after, by=bram, at=AT)

    def is_late(at):
        late = late_tasks(tank.showroom, open_tasks(tank.showroom, at), at)
        return str(task.uid) in {one.task.uid for one in late}

    assert not is_late(day_after - timedelta(minutes=1))
    assert not is_late(day_after + timedelta(minutes=1)), "that day's round has not begun"
    assert is_late(day_after + timedelta(hours=23))
