"""Are several tasks that were done written as each alone: all of them, or none?"""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection, transaction
from django.db.models import Q
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.errors import Held
from maintenance.models import Completion, DueTask
from maintenance.services import due_tasks
from maintenance.services.completions import Claim, complete, complete_all
from tests.maintenance.house import FIRST_DAY, START, House, a_carer, a_house, a_tank, on

pytestmark = pytest.mark.django_db

MORNING = on(FIRST_DAY, "07:10")
COLUMNS = (
    "due_task", "due_task__state", "person__name", "done_at", "done_at_corrected", "entered_at",
    "entered_late", "to_confirm", "minutes", "answers", "device", "action_id",
)  # fmt: skip


def a_day() -> tuple[House, list[DueTask]]:
    """Three tanks, what is due for them today, and what needs a skill later in the week."""
    house = a_house()
    for code in ("T01", "T02", "T03"):
        a_tank(house, code)
    due_tasks.ensure(showroom=house.showroom, at=START)
    rows = DueTask.objects.of(house.showroom).filter(tank__isnull=False)
    rows = rows.filter(~Q(template__skill="C1") | Q(due_on=FIRST_DAY))
    return house, list(rows.select_related("template", "showroom").order_by("pk"))


def test_several_are_written_as_each_alone_and_in_as_many_statements() -> None:
    house, tasks = a_day()
    carer = a_carer(house, "Bram Tolliver", "C1", "C2", "C3")
    assert {task.template.skill for task in tasks} > {"C1"}
    claims = [Claim(task, carer, MORNING + timedelta(minutes=n)) for n, task in enumerate(tasks)]
    with transaction.atomic():
        for one in claims:
            complete(due_task=one.due_task, by=one.by, at=one.at)
        alone = list(Completion.objects.order_by("pk").values_list(*COLUMNS))
        transaction.set_rollback(True)
    counts = []
    for some in (claims[:2], claims):
        with transaction.atomic(), CaptureQueriesContext(connection) as seen:
            assert complete_all(some) == len(some)
            counts.append(len(seen))
            transaction.set_rollback(True)
    complete_all(claims)
    assert list(Completion.objects.order_by("pk").values_list(*COLUMNS)) == alone
    assert counts[1] <= counts[0] + 1  # the skills of its person, asked once
    assert complete_all([]) == 0


def test_one_that_its_person_may_not_do_leaves_all_of_them_due() -> None:
    house, tasks = a_day()
    carer = a_carer(house, "Odile Marsh", "C1")
    with pytest.raises(Held, match="not signed off"):
        complete_all(Claim(task, carer, MORNING) for task in tasks)
    assert not Completion.objects.exists()
    assert set(DueTask.objects.filter(pk__in=[t.pk for t in tasks]).values_list("state")) == {
        ("open",)
    }
