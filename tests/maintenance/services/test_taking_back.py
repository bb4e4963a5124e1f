"""One rule for every slip: it counts from the moment of what it undoes, and stays undone."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, WorkItem
from gallery_ops.kernel.services.work import run_due
from inventory.models import Use
from maintenance.models import Completion, DueTask, Observation, Skip
from maintenance.services.completions import complete, take_back_completion
from maintenance.services.due_tasks import ensure
from maintenance.services.observations import observe, take_back_observation
from maintenance.services.skips import skip, take_back_skip
from tanks.models import Reading
from tanks.services.catalogue import load_parameters
from tanks.services.readings import record_reading, take_back_reading
from tests.maintenance.house import FIRST_DAY, House, a_house, a_tank, on

pytestmark = pytest.mark.django_db
AT = on(FIRST_DAY)
LATER = AT + timedelta(minutes=7)


@pytest.fixture
def house() -> House:
    made = a_house()
    a_tank(made, "T01")
    load_parameters()
    ensure(showroom=made.showroom, at=AT, days_ahead=0)
    return made


def task_of(house: House, key: str) -> DueTask:
    return DueTask.objects.get(tank=house.tanks["T01"], template__key=key)


def completed(house: House) -> tuple[Completion, Callable[..., Any], str]:
    task = task_of(house, "look")
    return complete(due_task=task, by=house.owner, at=AT), take_back_completion, "completion"


def skipped(house: House) -> tuple[Skip, Callable[..., Any], str]:
    task = task_of(house, "look")
    row = skip(due_task=task, reason="short_of_time", by=house.owner, at=AT)
    return row, take_back_skip, "skip"


def observed(house: House) -> tuple[Observation, Callable[..., Any], str]:
    row = observe(showroom=house.showroom, kind="note", text="a leaf", by=house.owner, at=AT)
    return row, take_back_observation, "observation"


def read(house: House) -> tuple[Reading, Callable[..., Any], str]:
    tank = house.tanks["T01"]
    row = record_reading(tank=tank, parameter="temperature", text="24", by=house.owner, at=AT)
    return row, take_back_reading, "reading"


FACTS = (completed, skipped, observed, read)


@pytest.mark.parametrize("make", FACTS)
def test_a_slip_counts_from_the_moment_of_what_it_undoes(house: House, make: Any) -> None:
    fact, take_back, name = make(house)
    back = take_back(**{name: fact}, by=house.owner, at=LATER)
    assert (back.done_at, back.done_at_corrected, back.entered_at) == (AT, AT, LATER)
    assert take_back(**{name: fact}, by=house.owner, at=LATER).pk == back.pk
    assert list(type(fact).objects.standing()) == []


@pytest.mark.parametrize("make", FACTS)
def test_a_slip_is_not_brought_back_by_undoing_its_undoing(house: House, make: Any) -> None:
    fact, take_back, name = make(house)
    back = take_back(**{name: fact}, by=house.owner, at=LATER)
    with pytest.raises(Refused, match="enter it anew") as no:
        take_back(**{name: back}, by=house.owner, at=LATER)
    assert no.value.code == "undo_of_undo"
    assert type(fact).objects.count() == 2


def test_what_is_watched_is_looked_at_again_when_a_reading_is_taken_back(house: House) -> None:
    fact, take_back, _name = read(house)
    waiting = WorkItem.objects.filter(kind="watch", done_at=None)
    run_due(at=AT, showroom=house.showroom, kinds=["watch"])
    assert not waiting.exists()
    take_back(reading=fact, by=house.owner, at=LATER)
    assert waiting.exists()


@pytest.mark.parametrize(
    ("reason", "text", "uses"),
    [("short_of_time", "", [0]), ("out_of_stock", "", [0]), ("already_done", "Pia, 08:00", [])],
)
def test_a_dose_passed_by_leaves_a_use_of_nothing_unless_it_was_given(
    house: House, reason: str, text: str, uses: list[int]
) -> None:
    skip(due_task=task_of(house, "dose"), reason=reason, text=text, by=house.owner, at=AT)
    rows = Use.objects.filter(tank=house.tanks["T01"])
    assert [row.given_base for row in rows] == uses
    assert all(row.is_skip and row.planned_base > 0 for row in rows)


def test_whoever_saw_it_is_written_down_also_where_only_the_membership_was_read(
    house: House,
) -> None:
    by = Membership.objects.get(pk=house.owner.pk)
    row = observe(showroom=house.showroom, kind="note", text="a leaf", by=by, at=AT)
    assert Observation.objects.get(pk=row.pk).person_id == house.owner.person_id
