"""Does the week's plan say what to measure, in walking order, the same all week for everybody?"""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.quantity import Mass, Pieces, Volume
from inventory.models import Container
from inventory.queries.count_plan import week_plan
from inventory.services import variances
from inventory.services.counting import count
from inventory.services.eye_counts import record_eye_count
from inventory.services.use import use_dose
from inventory.services.weighing import record_weighing
from tests.builders.gallery import AT, a_person, a_showroom, a_tank
from tests.builders.stock import _item as an_item
from tests.builders.stock import (
    a_bottle,
    a_cylinder,
    a_fertiliser,
    a_gas,
    a_scale,
    a_tub,
    feeds,
)

pytestmark = pytest.mark.django_db

MONDAY = AT - timedelta(days=3)
LAST_WEEK = AT - timedelta(days=7)
LONG_AGO = AT - timedelta(days=60)


def plan_of(showroom: Showroom, days: int = 0) -> list[tuple[str, str, bool]]:
    rows = week_plan(showroom, AT + timedelta(days=days)).rows
    return [(row.name, row.due.why if row.due else "", row.is_done) for row in rows]


def asked(showroom: Showroom, days: int = 0) -> list[tuple[str, str, bool]]:
    """Without those drawn at random."""
    return [row for row in plan_of(showroom, days) if row[1] != "random"]


def weigh(container: Container, at, grams: str = "431") -> None:
    showroom = container.showroom
    record_weighing(
        container=container,
        gross=Mass.g(grams),
        scale=a_scale(showroom),
        by=a_person(showroom=showroom),
        at=at,
    )


def test_it_goes_by_class_in_walking_order_and_what_was_measured_stays_done():
    showroom = a_showroom(at=LONG_AGO)
    fertiliser = a_fertiliser(showroom, at=LONG_AGO, count_class="A")
    gas = a_gas(showroom, at=LONG_AGO, count_class="B")
    last = a_tank("T2", showroom=showroom, walking_order=900, at=LONG_AGO)
    first = a_tank("T1", showroom=showroom, walking_order=1, at=LONG_AGO)
    bottle = a_bottle(fertiliser, name="Bottle 2", at=LONG_AGO)
    feeds(bottle, purpose="dose", tank=last, at=LONG_AGO)
    cylinder = a_cylinder(gas, tank=first, at=LONG_AGO)
    sealed = a_bottle(fertiliser, name="Sealed", at=LONG_AGO)
    weigh(bottle, LAST_WEEK)
    weigh(cylinder, LAST_WEEK, "1600")
    assert asked(showroom) == [("Bottle 2", "A", False)]
    assert asked(showroom, 28)[0] == ("Cylinder of T1", "B", False)
    rows = week_plan(showroom, AT).all_rows
    assert {row.name for row in rows} == {"Bottle 2", str(sealed), "Cylinder of T1"}
    weigh(bottle, AT)
    assert asked(showroom) == [("Bottle 2", "A", True)]
    assert asked(showroom, 3) == [("Bottle 2", "A", True)]
    assert asked(showroom, 4) == [("Bottle 2", "A", False)]


def test_by_eye_is_enough_for_class_c_alone():
    showroom = a_showroom(at=LONG_AGO)
    carer = a_person(showroom=showroom, at=LONG_AGO)
    for count_class, done in (("A", False), ("C", True)):
        item = a_fertiliser(showroom, at=LONG_AGO, count_class=count_class)
        bottle = a_bottle(item, name=count_class, at=LONG_AGO)
        feeds(bottle, purpose="dose", zone="A", at=LONG_AGO)
        record_eye_count(container=bottle, quarters=2, by=carer, at=AT)
        assert (count_class, "never", done) in plan_of(showroom)


def test_a_count_of_pieces_is_a_measurement_and_pieces_need_not_be_opened():
    showroom = a_showroom(at=LONG_AGO)
    washers = an_item(showroom, "other", "piece", LONG_AGO, count_class="C", name="Washers")
    box = a_bottle(washers, kind="bag", capacity=Pieces(50), tare=None, name="Box", at=LONG_AGO)
    assert plan_of(showroom) == [("Box", "never", False)]
    carer = a_person(showroom=showroom)
    count(container=box, counted=Pieces(47), by=carer, at=AT)
    row = week_plan(showroom, AT).rows[0]
    assert (row.is_counted, row.is_done) == (True, True)
    assert asked(showroom, 14) == []


def test_what_has_no_empty_mass_is_read_off_its_mark_and_called_by_item_and_code():
    showroom = a_showroom(at=LONG_AGO)
    item = a_fertiliser(showroom, at=LONG_AGO, name="Fluid", count_class="A")
    bottle = a_bottle(item, tare=None, at=LONG_AGO)
    feeds(bottle, purpose="dose", zone="A", at=LONG_AGO)
    row = week_plan(showroom, AT).rows[0]
    assert row.is_counted
    assert row.name == f"Fluid, bottle {bottle.code[:4]}-{bottle.code[4:]}"


def test_three_items_that_no_class_asks_for_are_drawn_for_the_week():
    showroom = a_showroom(at=LONG_AGO)
    for n in range(5):
        item = a_fertiliser(showroom, at=LONG_AGO, count_class="C")
        tub = a_tub(item, capacity=Volume.ml(500), name=f"tub {n}", at=LONG_AGO)
        feeds(tub, purpose="dose", zone="A", at=LONG_AGO)
        weigh(tub, LAST_WEEK, "200")
    drawn = plan_of(showroom)
    assert [why for _name, why, _done in drawn] == ["random"] * 3
    assert plan_of(showroom, -3) == plan_of(showroom, 3) == drawn
    chosen = Container.objects.get(name=drawn[0][0])
    weigh(chosen, AT, "210")
    assert (chosen.name, "random", True) in plan_of(showroom)


def test_books_below_nothing_ask_for_a_count_until_it_is_done():
    showroom = a_showroom(at=LONG_AGO)
    fertiliser = a_fertiliser(showroom, at=LONG_AGO, count_class="C")
    tank = a_tank("T1", showroom=showroom, at=LONG_AGO)
    bottle = a_bottle(fertiliser, name="Bottle 1", content=Volume.ml(2), at=LONG_AGO)
    feeds(bottle, purpose="dose", tank=tank, at=LONG_AGO)
    weigh(bottle, LAST_WEEK, "67.1")
    carer = a_person(showroom=showroom)
    use_dose(tank=tank, item=fertiliser, given=Volume.ml(5), by=carer, at=MONDAY)
    opened = variances.review(showroom=showroom, at=AT)["below_nothing"].opened
    assert len(opened) == 1
    assert ("Bottle 1", "below_nothing", False) in plan_of(showroom)
    weigh(bottle, AT, "66")
    assert len(variances.review(showroom=showroom, at=AT)["below_nothing"].closed) == 1


@pytest.mark.once
def test_a_hundred_containers_cost_as_many_queries_as_one():
    showroom = a_showroom(at=LONG_AGO)
    fertiliser = a_fertiliser(showroom, at=LONG_AGO, count_class="A")

    def queries_of_a_plan() -> int:
        with CaptureQueriesContext(connection) as queries:
            week_plan(showroom, AT)
        return len(queries)

    one = a_bottle(fertiliser, at=LONG_AGO)
    feeds(one, purpose="dose", zone="A", at=LONG_AGO)
    few = queries_of_a_plan()
    for _ in range(20):
        more = a_bottle(fertiliser, at=LONG_AGO)
        feeds(more, purpose="dose", tank=a_tank(showroom=showroom, at=LONG_AGO), at=LONG_AGO)
    assert len(week_plan(showroom, AT).rows) == 21
    assert queries_of_a_plan() == few <= 9
