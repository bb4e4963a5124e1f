"""Is the change of a cylinder asked for once, by its day, and no longer when a full one hangs?"""

from datetime import timedelta

import pytest

from gallery_ops.kernel.models import Closure
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Forecast
from inventory.services.cylinders import NewCylinder, exchange
from maintenance.models import DueTask
from maintenance.queries.due import open_tasks
from maintenance.queries.gas_tasks import CHANGE_KEY, gas_ends, open_changes
from maintenance.services.completions import complete
from maintenance.services.due_tasks import ensure
from maintenance.services.overdue import late_tasks
from tests.builders.stock import a_cylinder, a_gas
from tests.maintenance.house import START, a_house, a_tank

pytestmark = pytest.mark.django_db

TODAY = START.date()


@pytest.fixture
def line():
    house = a_house()
    tank = a_tank(house, "T16")
    one = a_cylinder(a_gas(house.showroom), tank=tank, at=START - timedelta(days=1))
    return house, tank, one


def ends(one, *, by=None, earliest=None):
    Forecast.objects.filter(container=one).delete()
    Forecast.objects.create(
        showroom=one.showroom, container=one, item=one.item, as_of_on=TODAY, made_at=START,
        engine="test", digest="0" * 64, level_base=20_000, quantiles_days=[5.0] * 19,
        order_by_on=by, earliest_on=earliest,
    )  # fmt: skip


def due(state="open"):
    rows = DueTask.objects.filter(template__key=CHANGE_KEY, state=state).order_by("due_on")
    return [row.due_on for row in rows]


def test_it_is_due_once_on_the_exchange_by_day_and_needs_c3(line):
    house, tank, one = line
    ends(one, by=TODAY + timedelta(days=2), earliest=TODAY + timedelta(days=9))
    for _ in range(2):
        ensure(showroom=house.showroom, at=START)
    assert due() == [TODAY + timedelta(days=2)]
    (task,) = open_changes(house.showroom, [tank], TODAY)
    assert (task.template.skill, task.tank) == ("C3", tank)


def test_without_a_delivery_the_first_day_on_which_it_may_end_counts(line):
    house, _tank, one = line
    ends(one, earliest=TODAY + timedelta(days=5))
    ensure(showroom=house.showroom, at=START)
    assert due() == [TODAY + timedelta(days=5)]


def test_far_away_and_unknown_nothing_is_asked_for(line):
    house, _tank, one = line
    ensure(showroom=house.showroom, at=START)
    assert due() == []
    ends(one, by=TODAY + timedelta(days=8))
    ensure(showroom=house.showroom, at=START)
    assert due() == []


def test_late_it_stays_one_task_however_many_days_pass(line):
    house, _tank, one = line
    ends(one, by=TODAY - timedelta(days=3))
    for days in range(4):
        ensure(showroom=house.showroom, at=START + timedelta(days=days))
    assert due() == [TODAY]


def test_a_full_one_takes_the_question_away(line):
    house, _tank, one = line
    ends(one, by=TODAY + timedelta(days=2))
    ensure(showroom=house.showroom, at=START)
    new = exchange(
        old=one,
        cylinder=NewCylinder(serial="NEW", tare=Mass.g(1350), fill=Mass.g(500)),
        by=house.owner,
        at=START,
    )
    ends(new, by=TODAY + timedelta(days=150))
    ensure(showroom=house.showroom, at=START)
    assert due() == []
    assert due("dropped") == [TODAY + timedelta(days=2)]
    assert gas_ends(house.showroom, START + timedelta(minutes=1)) == {
        _tank_id(new): TODAY + timedelta(days=150)
    }


def test_before_closed_days_it_is_done_earlier(line):
    house, _tank, one = line
    day = TODAY + timedelta(days=4)
    Closure.objects.create(
        showroom=house.showroom, from_on=day - timedelta(days=1), to_on=day + timedelta(days=3)
    )
    ends(one, by=day)
    ensure(showroom=house.showroom, at=START)
    assert due() == [day - timedelta(days=2)]


def _tank_id(container):
    return container.supplies.still().get().tank_id


# --- after a change ------------------------------------------------------------------------------
AFTER = {"after_gas_change", "day_after_gas_change"}


def looks():
    rows = DueTask.objects.filter(template__key__in=AFTER).order_by("due_at")
    return {row.template.key: (row.due_at, row.state) for row in rows}


def changed(house, one, at):
    new = NewCylinder("NEW 1", Mass.g(1350), Mass.g(500))
    return exchange(old=one, cylinder=new, by=house.owner, at=at)


def test_two_hours_and_a_day_after_a_change_the_fish_are_looked_at(line):
    house, _tank, one = line
    ensure(showroom=house.showroom, at=START)
    assert looks() == {}, "a cylinder that is the first at its tank was not changed"
    moment = START + timedelta(hours=4)
    changed(house, one, moment)
    for _ in range(2):
        ensure(showroom=house.showroom, at=moment + timedelta(minutes=5))
    found = looks()
    assert found["after_gas_change"] == (moment + timedelta(hours=2), "open")
    assert found["day_after_gas_change"][0].date() == TODAY + timedelta(days=1)
    # class A, half an hour after its own time, not after the hour that the template names
    since = moment + timedelta(hours=2, minutes=30)
    late = {one.task.template_key: one.since_at for one in _late(house, since)}
    assert late["after_gas_change"] == since
    assert "after_gas_change" not in {
        one.task.template_key for one in _late(house, since - timedelta(minutes=1))
    }


def _late(house, at):
    return late_tasks(house.showroom, open_tasks(house.showroom, at), at)


def test_the_looks_are_made_once_and_asked_for_no_longer_than_three_days(line):
    house, _tank, one = line
    changed(house, one, START + timedelta(hours=1))
    ensure(showroom=house.showroom, at=START + timedelta(hours=1, minutes=1))
    task = DueTask.objects.get(template__key="after_gas_change")
    complete(due_task=task, by=house.owner, at=START + timedelta(hours=3))
    for hours in (26, 30):
        again = ensure(showroom=house.showroom, at=START + timedelta(hours=hours))
    assert again.made == 0
    assert looks()["after_gas_change"][1] == "done"
    ensure(showroom=house.showroom, at=START + timedelta(days=4))
    assert looks()["day_after_gas_change"][1] == "dropped"


def test_a_change_past_midnight_is_looked_at_on_the_day_that_begins(line):
    house, _tank, one = line
    # 02:30 belongs to the night before; two hours later the next business day has begun
    moment = START.replace(hour=2, minute=30) + timedelta(days=1)
    changed(house, one, moment)
    ensure(showroom=house.showroom, at=moment + timedelta(minutes=1))
    task = DueTask.objects.get(template__key="after_gas_change")
    assert (task.due_on, task.due_at) == (moment.date(), moment + timedelta(hours=2))
