"""What is due today, for whom and why; who works today."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from maintenance.models import DueTask
from maintenance.queries.due import due_of_tank, due_on
from maintenance.queries.rota import who_is_here, who_works
from maintenance.services.due_tasks import ensure
from maintenance.services.rota import plan_shift, take_back_shift
from tests.maintenance.house import FIRST_DAY, House, a_carer, a_house, a_tank, day, on

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    made = a_house()
    a_tank(made, "T01")
    a_tank(made, "T14", stage="start_up", flooded_on=FIRST_DAY - timedelta(days=5))
    ensure(showroom=made.showroom, at=on(FIRST_DAY))
    return made


def shift(house: House, member: object, first: str = "07:00", last: str = "15:00") -> object:
    return plan_shift(
        showroom=house.showroom, person=member.person, from_at=on(FIRST_DAY, first),  # type: ignore[attr-defined]
        to_at=on(FIRST_DAY, last), by=house.owner, at=on(FIRST_DAY, "06:00"),
    )  # fmt: skip


def test_worst_class_first_then_time_then_the_walk(house: House) -> None:
    rows = due_on(house.showroom, FIRST_DAY, on(FIRST_DAY, "08:00"))
    order = [(row.task.harm_class, row.task.due_at) for row in rows]
    assert order == sorted(order)
    looks = [row.task.tank_code for row in rows if row.task.template_key == "look"]
    assert looks == ["T01", "T14"]


def test_each_row_says_how_long_for_whom_and_why(house: House) -> None:
    shift(house, a_carer(house, "Pia Sandgrove", "C1"))
    shift(house, a_carer(house, "Bram Tolliver", "C2"))
    rows = due_on(house.showroom, FIRST_DAY, on(FIRST_DAY, "08:00"))
    by_key = {(row.task.template_key, row.task.tank_code): row for row in rows}
    look = by_key["look", "T01"]
    assert look.minutes == Decimal(2)
    assert look.who == ("Bram Tolliver", "Pia Sandgrove")
    assert (look.rule, look.counts_from, look.state) == ("FREQ=DAILY", "due", "open")
    test = by_key["start_up_test_1", "T14"]
    assert test.who == ("Bram Tolliver",)
    assert (test.counts_from, test.day_of_layout) == ("flooding", 5)
    assert not test.needs_skill_not_here


def test_nobody_with_the_skill_is_said(house: House) -> None:
    shift(house, a_carer(house, "Pia Sandgrove", "C1"))
    rows = due_on(house.showroom, FIRST_DAY, on(FIRST_DAY, "08:00"))
    assert {row.task.template_key for row in rows if row.needs_skill_not_here} >= {
        "start_up_test_1"
    }


def test_late_and_left_over_from_yesterday(house: House) -> None:
    at = on(day(1), "08:00")
    rows = due_on(house.showroom, day(1), at)
    late = {(row.task.template_key, row.task.due_on) for row in rows if row.is_late}
    assert ("look", FIRST_DAY) in late
    assert ("look", day(1)) not in late
    assert ("dose", FIRST_DAY) not in late  # two days have not passed


def test_what_was_dropped_is_not_shown(house: House) -> None:
    DueTask.objects.filter(template__key="look").update(state="dropped")
    rows = due_on(house.showroom, FIRST_DAY, on(FIRST_DAY, "08:00"))
    assert "look" not in {row.task.template_key for row in rows}
    tank = house.tanks["T01"]
    keys = {
        task.template.key for task in due_of_tank(house.showroom, tank.pk, FIRST_DAY, FIRST_DAY)
    }
    assert keys >= {"feed", "dose"}
    assert "look" not in keys


@pytest.mark.once
def test_queries_do_not_grow_with_the_fleet(house: House) -> None:
    def queries() -> int:
        ensure(showroom=house.showroom, at=on(FIRST_DAY))
        with CaptureQueriesContext(connection) as seen:
            due_on(house.showroom, FIRST_DAY, on(FIRST_DAY, "08:00"))
        return len(seen)

    shift(house, a_carer(house, "Pia Sandgrove", "C1"))
    few = queries()
    for number in range(20, 30):
        a_tank(house, f"T{number:02}")
    assert queries() == few


def test_who_works_today_and_who_is_here_now(house: House) -> None:
    pia = a_carer(house, "Pia Sandgrove", "C1")
    odile = a_carer(house, "Odile Marsh", "C3", role="senior_carer")
    shift(house, pia, "07:00", "12:00")
    taken = shift(house, odile, "11:00", "18:00")
    assert [row.name for row in who_works(house.showroom, FIRST_DAY)] == [
        "Pia Sandgrove", "Odile Marsh",
    ]  # fmt: skip
    assert [row.name for row in who_is_here(house.showroom, FIRST_DAY, on(FIRST_DAY, "12:00"))] == [
        "Odile Marsh"
    ]
    assert who_works(house.showroom, day(1)) == []
    row = who_works(house.showroom, FIRST_DAY)[1]
    assert row.role == "senior_carer"
    assert row.can("C1")
    assert row.can("C3")
    assert not row.can("T")
    take_back_shift(showroom=house.showroom, shift=taken, by=house.owner, at=on(FIRST_DAY))  # type: ignore[arg-type]
    assert [row.name for row in who_works(house.showroom, FIRST_DAY)] == ["Pia Sandgrove"]


def test_a_shift_has_an_end_overlaps_none_and_is_planned_by_who_may(house: House) -> None:
    pia = a_carer(house, "Pia Sandgrove", "C1")
    shift(house, pia, "07:00", "12:00")
    with pytest.raises(Refused, match="already works"):
        shift(house, pia, "11:59", "13:00")
    shift(house, pia, "12:00", "13:00")
    with pytest.raises(Refused, match="at most 16 hours"):
        shift(house, pia, "15:00", "14:00")
    with pytest.raises(Forbidden):
        plan_shift(
            showroom=house.showroom, person=pia.person, from_at=on(day(1)),
            to_at=on(day(1), "12:00"), by=pia, at=on(FIRST_DAY),
        )  # fmt: skip
    stranger = a_house("quayside").owner.person
    with pytest.raises(Unknown):
        plan_shift(
            showroom=house.showroom, person=stranger, from_at=on(day(1)),
            to_at=on(day(1), "12:00"), by=house.owner, at=on(FIRST_DAY),
        )  # fmt: skip


def test_a_skill_that_ran_out_no_longer_counts(house: House) -> None:
    from gallery_ops.kernel.services.people import grant_skill

    pia = a_carer(house, "Pia Sandgrove")
    grant_skill(
        membership=pia, skill="C2", by=house.owner, at=on(FIRST_DAY),
        signed_off_on=date(2025, 3, 9), expires_on=FIRST_DAY,
    )  # fmt: skip
    shift(house, pia)
    assert not who_works(house.showroom, FIRST_DAY)[0].can("C1")
