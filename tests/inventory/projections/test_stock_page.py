"""What the stock page knows."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.models import Alert
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from gallery_ops.kernel.services.work import run_due
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import Container, Item, StockLine
from inventory.queries.keys import container_key, item_key
from inventory.queries.stock_page import StockPage, stock_page
from inventory.services import forecasts, reordering, stock_lines, watching
from inventory.services.containers import finish
from inventory.services.items import add_supplier_item
from inventory.services.plans import PlanLine
from tests.built_once import built_once
from tests.inventory.projections.world import NOW, TODAY, World, a_world, moment

pytestmark = pytest.mark.django_db


def seen(world: World) -> StockPage:
    forecasts.refresh(showroom=world.showroom, at=NOW)
    reordering.review(showroom=world.showroom, at=NOW)
    watching.review(showroom=world.showroom, at=NOW)
    stock_lines.refresh(showroom=world.showroom, at=NOW)
    return stock_page(world.showroom, NOW)


def a_stocked_world(tanks: int = 2, code: str = "undershore", days: int = 7) -> World:
    world = a_world(days, tanks, code)
    carbon = world.item("carbon", "fertiliser", "volume")
    gas = world.item("gas", "gas", "mass")
    food = world.item("granules", "food", "mass", opened_life_days=28, harm_class="A")
    world.supplier(carbon, Volume.l(5))
    world.supplier(gas, Mass.kg(2), name="Quayhead Gas", stated_lead_days=3)
    world.bottle(carbon, content=Volume.ml(150))
    world.tub(food, 250, opened=world.start)
    for n, tank in enumerate(world.tanks):
        world.cylinder(gas, tank, serial=f"S{n}")
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"))
    world.plan(food, "food", PlanLine(Mass.g("0.36"), weekdays="1111110"))
    world.item("washers", "other", "piece")
    return world


built, stocked = built_once(lambda: a_stocked_world(code="stocked"))


def test_rows_come_by_the_day_to_act_on_then_by_class(stocked: World) -> None:
    world = stocked
    world.dose_days(world_carbon(world), world.days())
    page = seen(world)
    names = [row.name for row in page.rows]
    assert names[0] == "Carbon"
    assert {row.name for row in page.rows} == {
        "Carbon", "Granules", "Gas of T001", "Gas of T002",
    }  # fmt: skip
    first = page.rows[0]
    assert first.to_do == "order"
    assert first.level.base == 150_000 - 7 * 6_000
    assert first.supplier_name == "Brackwater carbon"
    assert first.tanks == 2
    assert page.to_order_today == 1
    assert first.is_never_measured
    assert first.part_of_full == pytest.approx(0.108)
    assert len(first.because) == 9
    days = [row.act_by for row in page.rows if row.act_by]
    assert days == sorted(days)


def world_carbon(world: World) -> Item:
    found: Item = Item.objects.of(world.showroom).get(code="carbon")
    return found


def test_a_tub_that_will_be_too_old_says_so_with_its_day(stocked: World) -> None:
    page = seen(stocked)
    tub = next(row for row in page.rows if row.name == "Granules")
    assert tub.to_do == "too_old"
    assert tub.too_old == tub.act_by == TODAY + timedelta(days=21)


def test_the_axis_has_the_days_of_the_vans(stocked: World) -> None:
    page = stock_page(stocked.showroom, NOW, days=7)
    # Tuesday and Friday after Thursday 12 March 2026
    assert page.deliveries == (TODAY + timedelta(days=1), TODAY + timedelta(days=5))
    assert page.closures == ()


def test_what_nobody_has_counted_yet_is_shown_at_once(stocked: World) -> None:
    world = stocked
    page = stock_page(world.showroom, NOW)
    assert {row.name for row in page.rows} == {"Carbon", "Granules", "cylinder S0", "cylinder S1"}
    assert {row.to_do for row in page.rows} == {"wait"}
    assert all(row.is_pending for row in page.rows)
    carbon = next(row for row in page.rows if row.name == "Carbon")
    assert carbon.level == Volume.ml(150)
    assert carbon.full == Volume.l(1)
    assert page.made_at is None


def test_without_a_projection_a_plan_is_asked_for(stocked: World) -> None:
    world = stocked
    stock_lines.refresh(showroom=world.showroom, at=NOW)
    assert {row.to_do for row in stock_page(world.showroom, NOW).rows} == {"plan"}


def test_projections_that_stand_still_are_marked(stocked: World) -> None:
    world = stocked
    for at, stale in ((NOW - timedelta(hours=27), True), (NOW, False)):
        forecasts.refresh(showroom=world.showroom, at=at)
        stock_lines.refresh(showroom=world.showroom, at=at)
        assert stock_page(world.showroom, NOW).is_stale is stale


def test_a_use_that_is_not_counted_yet_makes_its_line_say_its_time(stocked: World) -> None:
    world = stocked
    run_due(at=NOW, showroom=world.showroom)
    before = {row.name: row for row in stock_page(world.showroom, NOW).rows}
    assert not any(row.is_pending for row in before.values())
    world.dose_day(world_carbon(world), TODAY)
    later = NOW + timedelta(hours=2)
    after = {row.name: row for row in stock_page(world.showroom, later).rows}
    assert after["Carbon"].is_pending
    assert after["Carbon"].level_at == before["Carbon"].level_at == NOW
    assert not after["Granules"].is_pending
    run_due(at=later, showroom=world.showroom)
    counted = {row.name: row for row in stock_page(world.showroom, later).rows}["Carbon"]
    assert not counted.is_pending
    assert counted.level_at == later
    assert counted.level.base == before["Carbon"].level.base - 6_000


def test_lines_are_the_same_made_twice_one_by_one_or_all_at_once(stocked: World) -> None:
    world = stocked
    seen(world)
    figures = [f for f in stock_lines.FIGURES if f != "made_at"]
    at_once = list(StockLine.objects.order_by("name").values(*figures))
    assert stock_lines.refresh(showroom=world.showroom, at=NOW) == stock_lines.Told(0, 0, 0)
    StockLine.objects.all().delete()
    for item in Item.objects.of(world.showroom).order_by("-pk"):
        stock_lines.refresh(showroom=world.showroom, at=NOW, subject=item_key(item.pk))
    assert list(StockLine.objects.order_by("name").values(*figures)) == at_once


def test_what_did_not_go_as_expected_is_asked_today_and_leads_to_its_alert() -> None:
    world = a_world(days=2)
    carbon = world.item("carbon", "fertiliser", "volume")
    bottle = world.bottle(carbon)
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    seen(world)
    wanted = Wanted("C", "container", container_key(bottle.pk), "Why?", [])
    synced = sync_alerts(
        showroom=world.showroom, kind="variance", wanted={wanted.subject_key: wanted}, at=NOW
    )
    assert synced.opened
    stock_lines.refresh(showroom=world.showroom, at=NOW)
    row = next(row for row in stock_page(world.showroom, NOW).rows if row.name == "Carbon")
    assert (row.to_do, row.act_by) == ("why", TODAY)
    assert row.alert_uid == str(Alert.objects.get(kind="variance").uid)


def test_what_is_finished_or_taken_off_has_no_line(stocked: World) -> None:
    world = stocked
    seen(world)
    for container in Container.objects.filter(item__code__in=["carbon", "gas"]).order_by("pk")[:2]:
        finish(container=container, is_changed=True, by=world.by, at=NOW)
    told = stock_lines.refresh(showroom=world.showroom, at=NOW)
    assert told.gone == 2
    assert {row.name for row in stock_page(world.showroom, NOW).rows} == {
        "Granules", "Gas of T002",
    }  # fmt: skip


def test_a_run_that_knows_less_leaves_the_newer_line_alone(stocked: World) -> None:
    world = stocked
    seen(world)
    before = list(StockLine.objects.order_by("pk").values())
    stock_lines.refresh(showroom=world.showroom, at=NOW - timedelta(hours=1))
    assert list(StockLine.objects.order_by("pk").values()) == before


def test_rows_come_in_pages_that_the_sentence_does_not_depend_on(stocked: World) -> None:
    world = stocked
    world.dose_days(world_carbon(world), world.days())
    whole = seen(world)
    parts = [stock_page(world.showroom, NOW, number=n, per_page=3) for n in (1, 2)]
    assert [row.key for part in parts for row in part.rows] == [row.key for row in whole.rows]
    assert [part.to_order_today for part in parts] == [1, 1]
    assert parts[1].page.paginator.count == 4


def test_alive_at_risk_is_named_before_its_delivery() -> None:
    world = a_world(days=2)
    food = world.item("granules", "food", "mass", harm_class="A")
    world.supplier(food, Mass.g(100))
    world.tub(food, 1, opened=world.start)
    world.plan(food, "food", PlanLine(Mass.g("0.9")))
    page = seen(world)
    assert page.alive_at_risk == ["Granules"]
    assert page.alive_at_risk_count == 1


def test_below_nothing_asks_for_a_count() -> None:
    world = a_world(days=2)
    carbon = world.item("carbon", "fertiliser", "volume")
    world.bottle(carbon, content=Volume.ml(3))
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    world.dose_day(carbon, world.start)
    (row,) = seen(world).rows
    assert row.is_below_nothing
    assert row.to_do == "count"
    assert row.act_by == TODAY
    assert row.part_of_full == 0


def test_a_cylinder_is_exchanged_for_one_of_its_own_size() -> None:
    world = a_world(days=2, tanks=1)
    gas = world.item("gas", "gas", "mass")
    small = world.supplier(gas, Mass.g(500), name="Quayhead Gas")
    add_supplier_item(supplier=small, item=gas, pack=Mass.kg(2), by=world.by, at=world.begins)
    world.cylinder(gas, world.tanks[0], fill_g=2000)
    (row,) = seen(world).rows
    assert row.pack == Mass.kg(2)


def test_who_weighed_it_last_and_when() -> None:
    world = a_world(days=2)
    carbon = world.item("carbon", "fertiliser", "volume")
    bottle = world.bottle(carbon)
    world.weigh(bottle, world.scale(), 900_000, moment(TODAY, 7))
    (row,) = seen(world).rows
    assert row.measured_at == moment(TODAY, 7)
    assert row.measured_by == "Maud Ellerkamp"


@pytest.mark.once
def test_queries_do_not_grow_with_the_fleet() -> None:
    counts = []
    for tanks, code in ((2, "small"), (12, "large")):
        world = a_stocked_world(tanks, code, days=2)
        seen(world)
        with CaptureQueriesContext(connection) as caught:
            stock_page(world.showroom, NOW)
        counts.append(len(caught))
    assert counts[0] == counts[1]
    assert counts[0] <= 13
