"""An overdue alert opens to its reason in words."""

from __future__ import annotations

import pytest

from gallery_ops.kernel.models import Alert
from gallery_ops.web.because import answers
from maintenance.models import DueTask
from maintenance.services.due_tasks import ensure
from maintenance.services.overdue import review
from tests.maintenance.house import FIRST_DAY, a_house, a_tank, on


@pytest.mark.django_db
def test_the_reason_names_task_tank_due_date_and_the_minute_it_counts_late() -> None:
    house = a_house()
    a_tank(house, "T05")
    ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=0)
    DueTask.objects.exclude(template__key="look").update(state="done")
    review(showroom=house.showroom, at=on(FIRST_DAY, "09:30"))
    (answer,) = answers(Alert.objects.get().because)
    assert answer.term == "Not done"
    assert answer.text.startswith("Look T05, due Mon 9 March")
    assert answer.text.endswith("09:30 (class A)")
