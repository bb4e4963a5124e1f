"""The jobs of this room through the real runner: wanted by time and by fact, done, done again."""

from __future__ import annotations

import pytest

from gallery_ops.kernel import register
from gallery_ops.kernel.models import Alert, WorkItem
from gallery_ops.kernel.services.work import give_back_stuck, run_due, want_periodic
from maintenance.models import DueTask
from tests.maintenance.house import FIRST_DAY, a_house, a_tank, on

pytestmark = pytest.mark.django_db
KINDS = ("due_tasks", "overdue")


def test_both_kinds_are_registered_and_come_round_by_themselves() -> None:
    every = {job.kind: job.every_s for job in register.periodic()}
    assert 0 < (every["due_tasks"] or 0) <= 3600
    # Class A counts late after 30 minutes: an alert must not wait much longer.
    assert 0 < (every["overdue"] or 0) <= 300


def test_the_runner_makes_tasks_and_alerts_and_a_second_run_changes_nothing() -> None:
    house = a_house()
    a_tank(house, "T01")
    want_periodic(at=on(FIRST_DAY, "07:00"))
    run_due(at=on(FIRST_DAY, "07:00"), kinds=KINDS)
    made = DueTask.objects.count()
    assert made > 10
    assert not Alert.objects.exists()

    want_periodic(at=on(FIRST_DAY, "09:31"))
    run_due(at=on(FIRST_DAY, "09:31"), kinds=KINDS)
    keys = sorted(Alert.objects.filter(closed_at=None).values_list("cause_key", flat=True))
    assert keys == ["overdue:opening:2026-03-09:A"]

    want_periodic(at=on(FIRST_DAY, "10:31"))
    run_due(at=on(FIRST_DAY, "10:31"), kinds=KINDS)
    assert DueTask.objects.count() == made
    assert sorted(Alert.objects.values_list("cause_key", flat=True)) == keys
    assert not WorkItem.objects.exclude(error="").exists()


def test_a_worker_killed_between_tasks_and_alerts_leaves_nothing_undone() -> None:
    house = a_house()
    a_tank(house, "T01")
    want_periodic(at=on(FIRST_DAY, "09:31"))
    run_due(at=on(FIRST_DAY, "09:31"), kinds=["due_tasks"])
    # The worker took the alert job and died: its row stays taken until the sweep gives it back.
    WorkItem.objects.filter(kind="overdue", done_at=None).update(
        taken_at=on(FIRST_DAY, "09:31"), taken_by="gone"
    )
    assert run_due(at=on(FIRST_DAY, "09:32"), kinds=["overdue"]) == 0
    give_back_stuck(at=on(FIRST_DAY, "09:45"))
    assert run_due(at=on(FIRST_DAY, "09:45"), kinds=["overdue"]) == 1
    assert Alert.objects.filter(closed_at=None).count() == 1
