"""Projections are stored once, the newest of a day, and twice is as once."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.models import WorkItem
from gallery_ops.kernel.services.work import run_due
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import Container, Forecast, Item
from inventory.services.containers import finish
from inventory.services.forecasts import refresh
from inventory.services.plans import PlanLine
from tests.built_once import built_once
from tests.inventory.projections.world import NOW, TODAY, World, a_world, moment

pytestmark = pytest.mark.django_db


def a_dosed_world(
    days: int = 21, tanks: int = 2, code: str = "undershore"
) -> tuple[World, Item, Container]:
    world = a_world(days, tanks, code)
    carbon = world.item("carbon", "fertiliser", "volume", density_mg_per_ml=1050)
    world.supplier(carbon, Volume.l(5))
    bottle = world.bottle(carbon)
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    world.dose_days(carbon, world.days())
    return world, carbon, bottle


Dosed = tuple[World, Item, Container]
built, dosed = built_once(a_dosed_world)


def stored() -> list[dict[str, Any]]:
    return list(Forecast.objects.order_by("pk").values())


def test_one_row_for_the_bottle_and_one_for_the_item(dosed: Dosed) -> None:
    world, carbon, bottle = dosed
    done = refresh(showroom=world.showroom, at=NOW)
    assert done.keys == (f"container:{bottle.pk}", f"item:{carbon.pk}")
    assert (done.made, done.altered) == (2, 0)
    row = Forecast.objects.get(item=carbon, container=None)
    assert row.level_base == 1_000_000 - 21 * 6_000
    assert row.plan_base_per_day == 6_000
    assert len(row.quantiles_days) == 19
    assert row.earliest_on < row.likely_on < row.latest_on
    # 874 mL, today's 6 to come, at 6 mL a day of which about 0.97 are given
    assert abs((row.likely_on - TODAY).days - 868 / 6) < 12
    assert row.order_by_on is not None
    assert row.order_by_on < row.earliest_on
    assert row.because[0]["what"] == "last_measured"
    assert row.because[0]["level"] == {"amount": 874.0, "unit": "mL"}


def test_twice_is_as_once(dosed: Dosed) -> None:
    world, _, _ = dosed
    refresh(showroom=world.showroom, at=NOW)
    before = stored()
    again = refresh(showroom=world.showroom, at=NOW + timedelta(minutes=5))
    assert (again.made, again.altered, again.unchanged) == (0, 0, 2)
    assert stored() == before


def test_gas_of_the_same_day_and_facts_is_the_same_row() -> None:
    world = a_world(days=5, tanks=1, code="elsewhere")
    gas = world.item("gas", "gas", "mass")
    world.cylinder(gas, world.tanks[0])
    world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"))
    refresh(showroom=world.showroom, at=NOW)
    before = stored()
    refresh(showroom=world.showroom, at=NOW + timedelta(hours=5))
    assert stored() == before
    # five business days at 8 g, from the start of the first to the start of today
    assert before[0]["level_base"] == pytest.approx(2_000_000 - 5 * 8_000, abs=10)


def test_a_weighing_brings_the_row_of_the_day_up_to_date(dosed: Dosed) -> None:
    world, _carbon, bottle = dosed
    refresh(showroom=world.showroom, at=NOW)
    before = Forecast.objects.get(container=bottle)
    world.weigh(bottle, world.scale(), 700_000, moment(TODAY, 8, 20))
    later = moment(TODAY, 8, 30)
    done = refresh(showroom=world.showroom, at=later, subject=f"container:{bottle.pk}")
    assert (done.made, done.altered) == (0, 2)
    after = Forecast.objects.get(container=bottle)
    assert after.pk == before.pk
    assert after.digest != before.digest
    assert after.level_base == pytest.approx(700_000, abs=1_000)
    assert after.measured_at == moment(TODAY, 8, 20)
    assert after.likely_on < before.likely_on


def test_the_next_day_has_a_row_of_its_own_and_the_old_one_stays(dosed: Dosed) -> None:
    world, carbon, _ = dosed
    refresh(showroom=world.showroom, at=NOW)
    refresh(showroom=world.showroom, at=NOW + timedelta(days=1))
    rows = Forecast.objects.filter(item=carbon, container=None).order_by("as_of_on")
    assert [(row.as_of_on, row.is_current) for row in rows] == [
        (TODAY, False),
        (TODAY + timedelta(days=1), True),
    ]


def test_a_late_run_does_not_overwrite_later_knowledge(dosed: Dosed) -> None:
    world, _carbon, _ = dosed
    refresh(showroom=world.showroom, at=NOW + timedelta(days=1))
    before = stored()
    refresh(showroom=world.showroom, at=NOW)
    assert [row for row in stored() if row["is_current"]] == before


def test_a_finished_bottle_has_no_projection_in_force(dosed: Dosed) -> None:
    world, carbon, bottle = dosed
    refresh(showroom=world.showroom, at=NOW)
    finish(container=bottle, by=world.by, at=moment(TODAY, 8, 20))
    refresh(showroom=world.showroom, at=moment(TODAY, 8, 30), subject=f"item:{carbon.pk}")
    assert not Forecast.objects.filter(container=bottle, is_current=True).exists()


def test_one_item_leaves_the_others_alone(dosed: Dosed) -> None:
    world, carbon, _ = dosed
    iron = world.item("iron", "fertiliser", "volume")
    world.bottle(iron)
    world.plan(iron, "dose", PlanLine(Volume.ml(2)))
    refresh(showroom=world.showroom, at=NOW)
    done = refresh(showroom=world.showroom, at=NOW, subject=f"item:{iron.pk}")
    assert len(done.keys) == 2
    assert Forecast.objects.filter(item=carbon, is_current=True).count() == 2


def test_a_stranger_or_nonsense_subject_projects_nothing(dosed: Dosed) -> None:
    _world, _, bottle = dosed
    other = a_world(days=2, code="elsewhere")
    for subject in (f"container:{bottle.pk}", "container:999999", "tub"):
        assert refresh(showroom=other.showroom, at=NOW, subject=subject).keys == ()
    assert not Forecast.objects.exists()


def test_a_change_asks_for_the_reviews_that_rest_on_it(dosed: Dosed) -> None:
    world, _, _ = dosed

    def asked() -> set[str]:
        """Reviews that wait, and are done with that."""
        waiting = WorkItem.objects.filter(kind__in=["reorder", "watch"], done_at=None)
        kinds = set(waiting.values_list("kind", flat=True))
        run_due(at=NOW, showroom=world.showroom, kinds=["reorder", "watch"])
        return kinds

    asked()
    refresh(showroom=world.showroom, at=NOW)
    assert asked() == {"reorder", "watch"}
    refresh(showroom=world.showroom, at=NOW)
    assert asked() == set()


@pytest.mark.once
def test_queries_do_not_grow_with_the_fleet() -> None:
    counts = []
    for tanks, code in ((2, "small"), (12, "large")):
        world = a_world(days=2, tanks=tanks, code=code)
        gas = world.item("gas", "gas", "mass")
        for n, tank in enumerate(world.tanks):
            world.cylinder(gas, tank, serial=f"S{n}")
        world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"))
        refresh(showroom=world.showroom, at=NOW)
        with CaptureQueriesContext(connection) as caught:
            refresh(showroom=world.showroom, at=NOW + timedelta(hours=6))
        counts.append(len(caught))
    assert counts[0] == counts[1]
