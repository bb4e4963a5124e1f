"""A step of the start-up begins when somebody accepts it, never by its day alone."""

from __future__ import annotations

from copy import copy
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.errors import Forbidden, Refused
from gallery_ops.kernel.values.quantity import Volume
from inventory.models import UsePlan, UsePlanLine
from inventory.queries.plans import planned_for_day
from inventory.services.plans import PlanLine, set_plan
from inventory.services.start_up import accept_step, hold_ramps
from tanks.models import Layout, StartUpStep, Tank
from tanks.queries.start_up import steps_of
from tanks.services.start_up import change_step, copy_regime
from tests.builders.gallery import AT, a_person, a_planted_tank, an_owner
from tests.builders.stock import a_fertiliser
from tests.built_once import built_once

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
FULL = 3_000


class World:
    """A tank flooded today with 3 mL a day as its full dose, and the usual steps."""

    def __init__(self) -> None:
        self.tank = a_planted_tank("T14", stage="start_up")
        self.boss = an_owner(self.tank.showroom)
        self.layout = Layout.objects.get(tank=self.tank)
        self.layout.flooded_on = AT.date()
        self.layout.save()
        self.item = a_fertiliser(self.tank.showroom)
        set_plan(
            tank=self.tank,
            item=self.item,
            purpose="dose",
            lines=[PlanLine(Volume(FULL))],
            from_on=AT.date(),
            by=self.boss,
            at=AT,
        )
        copy_regime(layout=self.layout, by=self.boss, at=AT)

    def accept(self, order: int, day: int) -> None:
        accept_step(layout=self.layout, order=order, by=self.boss, at=AT + day * DAY)

    def planned(self, day: int) -> int:
        on = (AT + day * DAY).date()
        found = planned_for_day(self.tank.showroom, on, tank_ids=[self.tank.pk])
        return sum(row.amount_base for row in found.values())


built, world = built_once(World)


def test_the_first_week_gives_nothing_and_the_ramp_ahead_is_known(world):
    world.accept(1, 0)
    assert [world.planned(day) for day in (0, 7, 8, 15, 22, 60)] == [0, 0, 999, 2001, 3000, 3000]


def test_a_step_that_nobody_accepts_does_not_begin(world):
    world.accept(1, 0)
    for day in range(1, 13):
        hold_ramps(showroom=world.tank.showroom, at=AT + day * DAY)
        assert world.planned(day) == 0, day
    assert world.planned(15) == 999
    world.accept(2, 12)
    assert (world.planned(12), world.planned(14), world.planned(15)) == (999, 999, 2001)


def test_a_day_without_a_worker_begins_no_step(world):
    world.accept(1, 0)
    for day in (6, 8, 10):
        assert world.planned(day) == 0, day
        hold_ramps(showroom=world.tank.showroom, at=AT + day * DAY)
        assert world.planned(day + 1) == 0, day


def test_holding_twice_makes_no_second_version(world):
    world.accept(1, 0)
    at = AT + 8 * DAY
    assert hold_ramps(showroom=world.tank.showroom, at=at) == 1
    before = UsePlan.objects.count()
    assert hold_ramps(showroom=world.tank.showroom, at=at) == 0
    assert UsePlan.objects.count() == before


def test_steps_are_taken_in_turn_by_who_may_change_plans(world):
    with pytest.raises(Refused, match="not the next"):
        world.accept(2, 9)
    carer = a_person("carer", showroom=world.tank.showroom)
    with pytest.raises(Forbidden):
        accept_step(layout=world.layout, order=1, by=carer, at=AT)
    assert [row.accepted_at for row in steps_of(world.layout)] == [None] * 6


def test_a_step_is_changed_before_it_is_taken_and_not_after(world):
    def change(order, **changes):
        usual = {"from_day": 10, "change_percent": 40, "changes_per_week": 3, "dose_permille": 250}
        change_step(
            layout=world.layout, order=order, by=world.boss, at=AT, light_minutes=360,
            **{**usual, **changes},
        )  # fmt: skip

    change(2)
    world.accept(1, 0)
    assert [world.planned(day) for day in (9, 10, 15)] == [0, 750, 2001]
    for wrong in ({"from_day": 1}, {"from_day": 15}, {"change_percent": 101}):
        with pytest.raises(Refused) as no:
            change(2, **wrong)
        assert set(no.value.fields) == set(wrong)
    with pytest.raises(Refused, match="taken already"):
        change(1, from_day=1)


def test_laying_it_again_neither_raises_nor_lowers_the_full_dose(world):
    for order, permille in ((2, 1500), (3, 500), (4, 500), (5, 500), (6, 500)):
        row = next(row for row in steps_of(world.layout) if row.order == order)
        row.dose_permille = permille
        row.save()
    world.accept(1, 0)
    for day in range(6, 12):
        hold_ramps(showroom=world.tank.showroom, at=AT + day * DAY)
    assert (world.planned(14), world.planned(60)) == (FULL * 3 // 2, FULL // 2)


@pytest.mark.once
def test_as_many_queries_for_200_start_ups_as_for_20(world):
    """All of them stand still today: nothing is written, and reading does not grow."""
    world.accept(1, 0)

    def asked():
        with CaptureQueriesContext(connection) as found:
            assert hold_ramps(showroom=world.tank.showroom, at=AT) == 0
        return len(found)

    counts = []
    for more in (19, 180):
        for _number in range(more):
            another(world.tank)
        counts.append(asked())
    assert UsePlan.objects.filter(to_on=None, voided_at=None).count() == 200
    assert counts[0] == counts[1]


def another(tank):
    """A tank like this one, with layout, steps and plans of its own."""
    layout, steps, plans = tank.layouts.get(), steps_of(tank.layouts.get()), tank.use_plans.all()
    lines = {plan.pk: list(plan.lines.all()) for plan in plans}
    twin = copied(Tank.objects.get(pk=tank.pk))
    its = copied(layout, tank=twin)
    StartUpStep.objects.bulk_create(changed(step, layout=its) for step in steps)
    for plan in plans:
        of = plan.pk
        mine = copied(plan, tank=twin, uid=uuid4())
        UsePlanLine.objects.bulk_create(changed(line, plan=mine) for line in lines[of])


def changed(row, **others):
    row = copy(row)
    row.pk, row._state.adding = None, True
    for name, value in others.items():
        setattr(row, name, value)
    return row


def copied(row, **others):
    row = changed(row, **others)
    row.save()
    return row
