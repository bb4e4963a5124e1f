"""After one tick only its container and its item are projected again, and rightly so."""

from __future__ import annotations

from datetime import time, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import WorkItem
from gallery_ops.kernel.services.work import run_due
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import Container, Forecast, Item, StockLine, Supplier
from inventory.queries.made_again import made_again
from inventory.services import stock_lines
from inventory.services.containers import NewContainer, receive
from inventory.services.forecasts import refresh, refresh_due
from inventory.services.one_line import FEW, refresh_one
from inventory.services.plans import PlanLine
from inventory.services.supplies import connect_supply
from inventory.services.use import use_dose
from tests.built_once import built_once
from tests.inventory.projections.world import NOW, TODAY, World, a_world, moment

pytestmark = pytest.mark.django_db


def own_bottles(
    tanks: int, code: str = "undershore", days: int = 14
) -> tuple[World, Item, list[Container]]:
    """Each tank has a bottle of its own, all of one item; weighed once, except the last."""
    world = a_world(days, tanks, code)
    carbon = world.item("carbon", "fertiliser", "volume", density_mg_per_ml=1000)
    world.supplier(carbon, Volume.l(5))
    new = NewContainer("bottle", Volume.ml(500), tare=Mass.g(60), name="b", press_nominal_ul=1000)
    bottles = receive(item=carbon, containers=[new] * tanks, by=world.by, at=world.begins)
    for tank, bottle in zip(world.tanks, bottles, strict=True):
        connect_supply(container=bottle, purpose="dose", tank=tank, by=world.by, at=world.begins)
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    world.dose_days(carbon, world.days())
    scale = world.scale()
    for n, bottle in enumerate(bottles[:-1]):
        left = 500_000 - 3_000 * (7 if days > 8 else 1) * (1 + n / 100)
        world.weigh(bottle, scale, left, moment(TODAY - timedelta(days=7 if days > 8 else 1), 18))
    world.stored(carbon, "can", Volume.l(2))
    return world, carbon, bottles


Owned = tuple[World, Item, list[Container]]
built, both = built_once(lambda: (own_bottles(4, "four"), own_bottles(FEW + 4, "many", days=8)))


@pytest.fixture
def four(both: tuple[Owned, Owned]) -> Owned:
    """Four bottles, two weeks."""
    return both[0]


@pytest.fixture
def many(both: tuple[Owned, Owned]) -> Owned:
    """More bottles of one item than are brought up one by one."""
    return both[1]


def made_at(world: World) -> dict[str, Any]:
    rows = Forecast.objects.filter(showroom=world.showroom, is_current=True)
    return {
        f"container:{row.container_id}" if row.container_id else f"item:{row.item_id}": row.made_at
        for row in rows
    }


def a_tick(world: World, item: Item, tank: int = 0, minute: int = 10) -> None:
    use_dose(tank=world.tanks[tank], item=item, presses=3, by=world.by, at=moment(TODAY, 8, minute))


def test_one_tick_makes_two_projections_of_all(four: Owned) -> None:
    world, carbon, bottles = four
    iron = world.item("iron", "fertiliser", "volume")
    world.bottle(iron)
    world.plan(iron, "dose", PlanLine(Volume.ml(1)))
    run_due(at=NOW, showroom=world.showroom, kinds=["forecast"])
    before = made_at(world)
    assert len(before) == 4 + 1 + 2
    a_tick(world, carbon)
    later = NOW + timedelta(minutes=5)
    run_due(at=later, showroom=world.showroom, kinds=["forecast"])
    after = made_at(world)
    remade = {key for key, at in after.items() if at != before[key]}
    assert remade == {f"container:{bottles[0].pk}", f"item:{carbon.pk}"}


def test_many_ticks_at_once_are_one_piece_of_work_for_each_bottle() -> None:
    world, carbon, _ = own_bottles(3)
    run_due(at=NOW, showroom=world.showroom, kinds=["forecast"])
    for minute in (9, 10, 11):
        a_tick(world, carbon, tank=1, minute=minute)
    waiting = WorkItem.objects.of(world.showroom).filter(kind="forecast", done_at=None)
    assert waiting.count() == 1
    # it waits a little for the next tick
    assert waiting.get().due_at > moment(TODAY, 8, 9)


@pytest.mark.parametrize("tanks", [1, 4])
def test_the_difference_of_one_place_is_the_same_as_all_made_anew(tanks: int, four: Owned) -> None:
    world, carbon, bottles = four if tanks == 4 else own_bottles(tanks)
    refresh(showroom=world.showroom, at=NOW)
    a_tick(world, carbon)
    later = NOW + timedelta(minutes=5)
    done = refresh(showroom=world.showroom, at=later, subject=f"container:{bottles[0].pk}")
    assert set(done.keys) == {f"container:{bottles[0].pk}", f"item:{carbon.pk}"}
    by_difference = stored()
    again = refresh(showroom=world.showroom, at=later + timedelta(minutes=1))
    assert set(again.keys) >= set(done.keys)
    for key, row in stored().items():
        was = by_difference[key]
        assert row.quantiles_days == pytest.approx(was.quantiles_days, abs=1e-6)
        assert row.plan_quantiles_days == pytest.approx(was.plan_quantiles_days, abs=1e-6)
        assert (row.level_base, row.order_by_on) == (was.level_base, was.order_by_on)
        assert [r["what"] for r in row.because] == [r["what"] for r in was.because]
        for one, other in zip(row.because, was.because, strict=True):
            assert one == other


def stored() -> dict[tuple[int, int | None], Forecast]:
    rows = Forecast.objects.filter(is_current=True)
    return {(row.item_id, row.container_id): row for row in rows}


@pytest.mark.parametrize("tanks", [1, 4])
def test_a_stored_projection_can_be_made_again(tanks: int, four: Owned) -> None:
    world, carbon, bottles = four if tanks == 4 else own_bottles(tanks)
    refresh(showroom=world.showroom, at=NOW)
    a_tick(world, carbon)
    later = NOW + timedelta(minutes=5)
    refresh(showroom=world.showroom, at=later, subject=f"container:{bottles[0].pk}")
    # what is said and planned afterwards does not reach back
    world.weigh(bottles[-1], world.scale(2), 300_000, moment(TODAY, 12))
    world.dose_day(carbon, TODAY)
    rows = list(Forecast.objects.filter(is_current=True))
    assert len(rows) == tanks + 1
    for row in rows:
        again = made_again(row)
        assert list(again.quantiles) == pytest.approx(row.quantiles_days, abs=1e-9)
        assert list(again.plan_quantiles) == pytest.approx(row.plan_quantiles_days, abs=1e-9)


def test_pieces_without_a_plan_can_be_made_again_too() -> None:
    from gallery_ops.kernel.values.quantity import Pieces
    from inventory.services.counting import count

    world = a_world(days=30, tanks=1)
    strips = world.item("strips", "test", "piece")
    (box,) = receive(
        item=strips, containers=[NewContainer("box", Pieces(25))], by=world.by, at=world.begins
    )
    count(container=box, counted=Pieces(21), by=world.by, at=moment(TODAY - timedelta(days=9)))
    refresh(showroom=world.showroom, at=NOW)
    (row,) = Forecast.objects.all()
    assert list(made_again(row).quantiles) == pytest.approx(row.quantiles_days, abs=1e-9)


def test_one_of_another_version_says_that_it_cannot_be_made_again() -> None:
    world, _, _ = own_bottles(1)
    refresh(showroom=world.showroom, at=NOW)
    row = Forecast.objects.filter(container=None).get()
    row.made_from = {**row.made_from, "engine": "older"}
    with pytest.raises(Unknown):
        made_again(row)


def test_a_tick_on_the_next_day_makes_all_of_its_item() -> None:
    world, carbon, bottles = own_bottles(3)
    refresh(showroom=world.showroom, at=NOW)
    tomorrow = NOW + timedelta(days=1)
    use_dose(tank=world.tanks[0], item=carbon, presses=3, by=world.by, at=tomorrow)
    done = refresh(
        showroom=world.showroom,
        at=tomorrow + timedelta(minutes=1),
        subject=f"container:{bottles[0].pk}",
    )
    assert len(done.keys) == 4


def test_sisters_learn_again_only_when_a_weighing_moves_them(four: Owned) -> None:
    world, carbon, bottles = four
    scale = world.scale(2)
    run_due(at=NOW, showroom=world.showroom, kinds=["forecast"])

    def wanted_after(left: float, minute: int) -> bool:
        at = moment(TODAY, 9, minute)
        world.weigh(bottles[0], scale, left, at)
        WorkItem.objects.filter(kind="forecast", done_at=None).delete()
        refresh(showroom=world.showroom, at=at, subject=f"container:{bottles[0].pk}")
        return WorkItem.objects.filter(
            kind="forecast", subject=f"item:{carbon.pk}", done_at=None
        ).exists()

    level = Forecast.objects.get(container=bottles[0], is_current=True).level_base
    assert not wanted_after(level, 1)
    assert wanted_after(level - 12_000, 2)


def test_work_after_a_tick_asks_no_more_of_the_database_with_more_bottles() -> None:
    counts = []
    for tanks, code in ((2, "few"), (9, "nine")):
        world, carbon, bottles = own_bottles(tanks, code, days=3)
        refresh(showroom=world.showroom, at=NOW)
        a_tick(world, carbon)
        with CaptureQueriesContext(connection) as caught:
            refresh(
                showroom=world.showroom,
                at=NOW + timedelta(minutes=5),
                subject=f"container:{bottles[0].pk}",
            )
        counts.append(len(caught))
    assert counts[0] == counts[1]


def test_the_night_makes_everything_and_the_hours_after_it_nothing() -> None:
    world, _, _ = own_bottles(2)
    first = refresh_due(showroom=world.showroom, at=NOW)
    assert len(first.keys) == 3
    assert refresh_due(showroom=world.showroom, at=NOW + timedelta(hours=1)).keys == ()
    # 04:00 is the cut-off of the business day
    before, after = (moment(TODAY + timedelta(days=1), hour) for hour in (3, 5))
    assert refresh_due(showroom=world.showroom, at=before).keys == ()
    assert len(refresh_due(showroom=world.showroom, at=after).keys) == 3


def test_when_the_last_hour_for_orders_passes_its_items_are_projected_again() -> None:
    world, carbon, _ = own_bottles(2)
    Supplier.objects.update(cut_off_at=time(14))
    refresh_due(showroom=world.showroom, at=NOW)
    iron = world.item("iron", "fertiliser", "volume")
    world.bottle(iron)
    world.plan(iron, "dose", PlanLine(Volume.ml(1)))
    refresh(showroom=world.showroom, at=NOW, subject=f"item:{iron.pk}")
    assert refresh_due(showroom=world.showroom, at=moment(TODAY, 13)).keys == ()
    found = refresh_due(showroom=world.showroom, at=moment(TODAY, 15))
    assert len(found.keys) == 3
    assert f"item:{carbon.pk}" in found.keys
    assert refresh_due(showroom=world.showroom, at=moment(TODAY, 17)).keys == ()


# --- its line of the stock page ------------------------------------------------------------------
def line_of(world: World, item: Item) -> StockLine:
    return StockLine.objects.get(showroom=world.showroom, item=item, container=None)


def figures(line: StockLine) -> dict[str, Any]:
    return {name: getattr(line, name) for name in stock_lines.FIGURES}


def test_one_container_of_many_brings_the_line_of_its_item_up_as_all_of_them_would(
    many: Owned,
) -> None:
    world, carbon, bottles = many
    refresh(showroom=world.showroom, at=NOW)
    stock_lines.refresh(showroom=world.showroom, at=NOW)
    before = line_of(world, carbon).level_base
    a_tick(world, carbon, tank=2)
    world.weigh(bottles[2], world.scale(2), 470_000, moment(TODAY, 9))
    at, subject = moment(TODAY, 10), f"container:{bottles[2].pk}"
    refresh(showroom=world.showroom, at=at, subject=subject)
    assert refresh_one(showroom=world.showroom, at=at, subject=subject)
    quick = figures(line_of(world, carbon))
    assert quick["level_base"] != before
    stock_lines.refresh(showroom=world.showroom, at=at, subject=subject)
    assert figures(line_of(world, carbon)) == quick


def test_what_is_not_sure_is_left_to_the_whole_item(
    many: Owned,
) -> None:
    world, carbon, bottles = many
    refresh(showroom=world.showroom, at=NOW)
    subject = f"container:{bottles[0].pk}"

    def quick() -> bool:
        return refresh_one(showroom=world.showroom, at=NOW, subject=subject)

    assert not quick(), "no line was stored yet"
    stock_lines.refresh(showroom=world.showroom, at=NOW)
    assert quick()
    assert not refresh_one(showroom=world.showroom, at=NOW, subject=f"item:{carbon.pk}")
    StockLine.objects.filter(item=carbon).update(tanks=3)
    assert not quick(), "another number of tanks is fed"
    stock_lines.refresh(showroom=world.showroom, at=NOW)
    world.stored(carbon, "can", Volume.l(2))
    assert not quick(), "another container came"


def test_rows_read_for_the_line_do_not_grow_with_the_containers_of_its_item(many: Owned) -> None:
    counts = []
    for world, _carbon, bottles in (many, own_bottles(2 * FEW, "more", days=8)):
        refresh(showroom=world.showroom, at=NOW)
        stock_lines.refresh(showroom=world.showroom, at=NOW)
        subject = f"container:{bottles[0].pk}"
        with CaptureQueriesContext(connection) as asked:
            assert refresh_one(showroom=world.showroom, at=NOW, subject=subject)
        counts.append(len(asked))
    assert counts[0] == counts[1]
