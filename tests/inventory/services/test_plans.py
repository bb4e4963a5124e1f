"""Is a plan closed and followed rather than edited, and does every day have one amount?"""

from datetime import date, timedelta

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import AuditEntry
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import UsePlan
from inventory.queries.plans import plan_on, planned_base, planned_for_day, plans_in_force
from inventory.services.plans import PlanLine, set_plan, stop_plans
from tests.builders.gallery import AT, a_person, a_showroom, a_tank
from tests.builders.stock import a_fertiliser, a_food, a_gas, a_plan

pytestmark = pytest.mark.django_db

TODAY = AT.date()
DAY = timedelta(days=1)


def on(tank, item, day, purpose="dose"):
    row = planned_for_day(tank.showroom, day).get((tank.pk, purpose, item.pk))
    return None if row is None else row.amount_base


def a_planned_tank():
    showroom = a_showroom()
    tank, item = a_tank(showroom=showroom), a_fertiliser(showroom)
    manager = a_person("manager", showroom=showroom)
    return tank, item, manager


def test_a_change_closes_the_version_in_force_and_opens_the_next():
    tank, item, manager = a_planned_tank()
    first = a_plan(tank, item, Volume.ml(3))
    second = set_plan(
        tank=tank,
        item=item,
        purpose="dose",
        lines=[PlanLine(Volume.ml(4))],
        from_on=TODAY + 5 * DAY,
        reason="light raised",
        by=manager,
        at=AT,
    )
    first.refresh_from_db()
    assert (first.version, first.to_on) == (1, TODAY + 5 * DAY)
    assert (second.version, second.to_on) == (2, None)
    assert on(tank, item, TODAY + 4 * DAY) == 3_000
    assert on(tank, item, TODAY + 5 * DAY) == 4_000
    assert on(tank, item, TODAY - DAY) is None
    assert plan_on(tank.showroom, tank, item, "dose", TODAY) == first
    line = AuditEntry.objects.filter(deed="plan.set").latest("pk")
    assert line.reason == "light raised"
    assert line.before == [{"version": 1, "to_on": str(TODAY + 5 * DAY)}]


def test_the_same_content_changes_nothing():
    tank, item, _manager = a_planned_tank()
    first = a_plan(tank, item, Volume.ml(3))
    assert a_plan(tank, item, Volume.ml(3), from_on=TODAY + DAY) == first
    first.refresh_from_db()
    assert first.to_on is None
    assert UsePlan.objects.count() == 1


def test_a_ramp_rises_by_its_steps_and_rests_on_its_weekdays():
    # Start-up: nothing in week 1, a third in week 2, two thirds in week 3, then full (common
    # practice, no source).
    tank, item, manager = a_planned_tank()
    week = 7 * DAY
    plan = set_plan(
        tank=tank,
        item=item,
        purpose="dose",
        lines=[
            PlanLine(Volume.ml(3), from_on=TODAY + week, to_on=TODAY + 2 * week),
            PlanLine(Volume.ml(6), from_on=TODAY + 2 * week, to_on=TODAY + 3 * week),
            PlanLine(Volume.ml(9), from_on=TODAY + 3 * week, weekdays="1111110"),
        ],
        from_on=TODAY,
        by=manager,
        at=AT,
    )
    amounts = [on(tank, item, TODAY + days * DAY) for days in (6, 7, 13, 14, 21)]
    assert amounts == [0, 3_000, 3_000, 6_000, 9_000]
    sunday = date(2026, 4, 5)
    assert sunday.weekday() == 6
    assert (on(tank, item, sunday), on(tank, item, sunday + DAY)) == (0, 9_000)
    row = planned_base(tank.showroom, tank, TODAY + week)["dose", item.pk]
    assert (row.plan_id, row.version, row.means) == (plan.pk, 1, ("hand",))


def test_a_plan_that_has_not_begun_is_voided_by_an_earlier_change():
    tank, item, _manager = a_planned_tank()
    a_plan(tank, item, Volume.ml(3))
    future = a_plan(tank, item, Volume.ml(9), from_on=TODAY + 20 * DAY)
    a_plan(tank, item, Volume.ml(5), from_on=TODAY + 10 * DAY)
    future.refresh_from_db()
    assert future.voided_at == AT
    assert [on(tank, item, TODAY + days * DAY) for days in (9, 10, 20, 40)] == [
        3_000,
        5_000,
        5_000,
        5_000,
    ]


def test_two_changes_on_one_day_leave_the_second_in_force():
    tank, item, _manager = a_planned_tank()
    a_plan(tank, item, Volume.ml(3))
    a_plan(tank, item, Volume.ml(5))
    assert on(tank, item, TODAY) == 5_000
    assert UsePlan.objects.filter(to_on=None, voided_at=None).count() == 1


def test_the_past_stays_as_it_was():
    tank, item, _manager = a_planned_tank()
    a_plan(tank, item, Volume.ml(3), from_on=TODAY - DAY)
    with pytest.raises(Refused, match="in force since") as caught:
        a_plan(tank, item, Volume.ml(5), from_on=TODAY - 2 * DAY)
    assert caught.value.fields["from_on"] == f"Allowed: {TODAY - DAY} or later."


def test_a_tank_that_is_emptied_stops_all_its_plans():
    tank, item, manager = a_planned_tank()
    food, gas = a_food(tank.showroom), a_gas(tank.showroom)
    a_plan(tank, item, Volume.ml(3))
    a_plan(tank, food, Mass.g(1), purpose="food")
    a_plan(tank, gas, Mass.g("2.5"), purpose="gas", from_on=TODAY + 30 * DAY)
    stopped = stop_plans(tank=tank, on=TODAY + 2 * DAY, by=manager, at=AT)
    assert len(stopped) == 3
    assert len(planned_for_day(tank.showroom, TODAY + DAY)) == 2
    assert planned_for_day(tank.showroom, TODAY + 2 * DAY) == {}
    assert planned_for_day(tank.showroom, TODAY + 40 * DAY) == {}
    assert stop_plans(tank=tank, on=TODAY + 2 * DAY, by=manager, at=AT) == []
    again = a_plan(tank, item, Volume.ml(3), from_on=TODAY + 9 * DAY)
    assert again.version == 2
    assert [on(tank, item, TODAY + days * DAY) for days in (1, 5, 9)] == [3_000, None, 3_000]


@pytest.mark.parametrize(
    ("line", "code"),
    [
        (PlanLine(Volume.l(2)), "out_of_range"),
        (PlanLine(Mass.g(3)), "other_dimension"),
        (PlanLine(Volume.ml(3), weekdays="1111"), "weekdays"),
        (PlanLine(Volume.ml(3), from_on=TODAY + DAY, to_on=TODAY + DAY), "step_ends_early"),
    ],
)
def test_what_cannot_be_is_refused_in_words(line, code):
    tank, item, manager = a_planned_tank()
    with pytest.raises(Refused) as caught:
        set_plan(
            tank=tank, item=item, purpose="dose", lines=[line], from_on=TODAY, by=manager, at=AT
        )
    assert caught.value.code == code
    assert caught.value.fields
    assert UsePlan.objects.count() == 0


def test_purpose_item_rights_and_house_are_looked_at():
    tank, item, manager = a_planned_tank()
    fields = {"tank": tank, "lines": [PlanLine(Volume.ml(3))], "from_on": TODAY, "at": AT}
    with pytest.raises(Refused, match="is not given as"):
        set_plan(item=item, purpose="gas", by=manager, **fields)
    with pytest.raises(Forbidden):
        set_plan(item=item, purpose="dose", by=a_person("carer", showroom=tank.showroom), **fields)
    with pytest.raises(Unknown):
        set_plan(item=a_fertiliser(a_showroom()), purpose="dose", by=manager, **fields)


@pytest.mark.once
def test_the_plan_of_the_fleet_is_one_query_for_two_tanks_and_for_twelve(
    django_assert_num_queries,
):
    showroom = a_showroom()
    item = a_fertiliser(showroom)
    for wanted in (2, 10):
        for _ in range(wanted):
            a_plan(a_tank(showroom=showroom), item, Volume.ml(3))
        with django_assert_num_queries(1):
            found = planned_for_day(showroom, TODAY)
        with django_assert_num_queries(2):
            assert len(list(plans_in_force(showroom, TODAY))) == len(found)
    assert len(found) == 12
    assert sum(row.amount_base for row in found.values()) == 36_000
