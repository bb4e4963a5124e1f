"""What must be bought this week: which rows, how many, from whom, and what waits."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest

from gallery_ops.kernel.models import Alert
from gallery_ops.kernel.values.quantity import Mass, Pieces, Volume
from inventory.models import Item, Supplier
from inventory.queries.buy_list import buy_list
from inventory.queries.buy_types import BuyLine, BuyList
from inventory.queries.keys import item_key
from inventory.services import forecasts, reordering
from inventory.services.items import add_closure, add_supplier_item
from inventory.services.orders import draft_order, set_line
from inventory.services.plans import PlanLine
from inventory.services.prices import set_budget
from inventory.services.reservations import reserve
from inventory.services.suppliers import change_supplier
from tests.builders.orders import a_pack, an_order
from tests.inventory.projections.world import NOW, TODAY, World, a_world, moment

pytestmark = pytest.mark.django_db

A_DAY_UL = 6_000
"""Two tanks, 3 mL each."""


def stocked(world: World, code: str, days: int, supplier: Supplier | None = None) -> Item:
    """A liquid that lasts so many days more at 6 mL a day; a can of 1 L for £12.50."""
    item = world.item(code, "fertiliser", "volume")
    if supplier is None:
        world.supplier(item, Volume.l(1))
    else:
        a_pack(supplier, item, Volume.l(1))
    world.bottle(item, litres=5, content=Volume(A_DAY_UL * (days + 7)))
    world.plan(item, "dose", PlanLine(Volume.ml(3)))
    world.dose_days(item, world.days())
    return item


def listed(world: World) -> BuyList:
    forecasts.refresh(showroom=world.showroom, at=NOW)
    return buy_list(world.showroom, NOW)


def only(found: BuyList) -> BuyLine:
    (section,) = found.sections
    (line,) = section.lines
    return line


@pytest.fixture
def world() -> World:
    return a_world(days=7)


# --- must now -----------------------------------------------------------------------------------
def test_what_runs_low_must_go_now_and_says_why_so_much(world: World) -> None:
    item = stocked(world, "carbon", days=12)
    found = listed(world)
    line = only(found)
    assert (line.group, line.item, line.packs) == ("must", item, 1)
    van = found.sections[0].van
    assert van.order_by >= TODAY
    assert van.earliest <= van.likely <= van.latest
    assert van.likely.weekday() in {1, 4}  # Tuesday or Friday
    assert line.need is not None
    # until the order after this one: two weeks or so at 6 mL a day, and luck
    assert 12 * A_DAY_UL < line.need.until_next < 30 * A_DAY_UL
    assert line.amount.enough == 1
    assert line.lasts_to is not None
    assert line.lasts_to > TODAY + timedelta(days=100)  # 1 L is 166 days


def test_the_list_asks_for_what_the_alert_asks_for(world: World) -> None:
    low, full = stocked(world, "low", days=10), stocked(world, "full", days=150)
    found = listed(world)
    reordering.review(showroom=world.showroom, at=NOW)
    asked = Alert.objects.of(world.showroom).filter(kind="reorder", closed_at=None)
    assert [one.subject_key for one in asked] == [item_key(low.pk)]
    assert only(found).item == low
    assert full.pk not in {line.item.pk for one in found.sections for line in one.lines}


def test_nothing_low_is_no_section_but_the_day_on_which_one_will_be(world: World) -> None:
    stocked(world, "carbon", days=100)
    found = listed(world)
    assert found.sections == ()
    assert found.next_order_by is not None
    assert found.next_order_by > TODAY + timedelta(days=7)


def test_what_is_on_order_in_time_is_not_asked_for_again(world: World) -> None:
    item = stocked(world, "carbon", days=20)
    assert only(listed(world)).packs == 1
    supplier = item.supplier_items.get().supplier
    an_order(supplier, (item, Volume.l(1), 1), at=NOW)
    assert listed(world).sections == ()


def test_a_closed_supplier_is_named_and_its_van_comes_after(world: World) -> None:
    item = stocked(world, "carbon", days=12)
    supplier = item.supplier_items.get().supplier
    open_again = TODAY + timedelta(days=25)
    add_closure(
        supplier=supplier, from_on=TODAY + timedelta(days=2), to_on=open_again, by=world.by, at=NOW
    )
    (section,) = listed(world).sections
    assert section.closed == ((TODAY + timedelta(days=2), open_again),)
    assert section.van.likely >= open_again


def test_after_the_last_hour_it_goes_tomorrow(world: World) -> None:
    item = stocked(world, "carbon", days=2)
    supplier = item.supplier_items.get().supplier
    change_supplier(supplier=supplier, cut_off_at=time(8), by=world.by, at=NOW)
    (section,) = listed(world).sections
    assert section.van.is_past
    change_supplier(supplier=supplier, cut_off_at=time(14), by=world.by, at=NOW)
    (section,) = listed(world).sections
    assert not section.van.is_past


def test_without_a_supplier_it_is_named_and_no_day_is_made_up(world: World) -> None:
    item = world.item("carbon", "fertiliser", "volume")
    world.bottle(item, litres=5, content=Volume(A_DAY_UL * 17))
    world.plan(item, "dose", PlanLine(Volume.ml(3)))
    world.dose_days(item, world.days())
    found = listed(world)
    assert found.sections == ()
    assert [row.item for row in found.unknown] == [item]


def test_a_shelf_that_holds_less_caps_it(world: World) -> None:
    item = stocked(world, "carbon", days=10)
    Item.objects.filter(pk=item.pk).update(storage_max_base=500_000)
    line = only(listed(world))
    assert (line.packs, line.amount.enough, line.amount.capped_by) == (0, 1, "storage")


def test_a_tub_that_will_be_too_old_is_not_counted_on(world: World) -> None:
    food = world.item("granules", "food", "mass", opened_life_days=28, harm_class="A")
    supplier = world.supplier(food, Mass.g(100))
    tub = world.tub(food, 250, opened=TODAY - timedelta(days=6))
    world.weigh(tub, world.scale(), 240_000, moment(TODAY - timedelta(days=1), 7))
    world.plan(food, "food", PlanLine(Mass.g("0.5")))
    for day in world.days():
        world.feed_day(food, day, "0.5")
    found = listed(world)
    line = only(found)
    # 1 g a day: 240 g would last 240 days, but on 3 April it is 28 days open with 217 g in it
    assert line.group == "must"
    assert found.sections[0].supplier == supplier
    assert line.order_by < date(2026, 4, 3)
    assert 200_000 < line.too_old < 225_000
    assert line.need is not None
    assert line.need.left < 30_000


# --- join, builds, optional ---------------------------------------------------------------------
def test_what_asks_before_the_next_van_joins_and_alone_it_waits(world: World) -> None:
    low = stocked(world, "low", days=12)
    supplier = low.supplier_items.get().supplier
    soon = stocked(world, "soon", days=33, supplier=supplier)
    later = stocked(world, "later", days=150, supplier=supplier)
    (section,) = listed(world).sections
    assert [(line.item, line.group) for line in section.lines] == [(low, "must"), (soon, "join")]
    assert later not in {line.item for line in section.lines}


def test_a_booked_build_gets_whole_packs_by_its_day(world: World) -> None:
    soil = world.item("soil", "other", "mass")
    supplier = world.supplier(soil, Mass.kg(9))
    reserve(
        item=soil,
        amount=Mass.kg(10),
        needed_on=TODAY + timedelta(days=30),
        for_what="T09, planting",
        by=world.by,
        at=NOW,
    )
    found = listed(world)
    line = only(found)
    assert (line.group, line.packs, line.is_late) == ("build", 2, False)
    assert line.spoken_for[0].for_what == "T09, planting"
    assert found.sections[0].supplier == supplier
    assert found.sections[0].van.latest <= TODAY + timedelta(days=30)


def test_a_build_too_soon_is_late_and_one_with_stock_asks_for_nothing(world: World) -> None:
    soil = world.item("soil", "other", "mass")
    world.supplier(soil, Mass.kg(9))
    booked = reserve(
        item=soil,
        amount=Mass.kg(8),
        needed_on=TODAY + timedelta(days=2),
        for_what="T09",
        by=world.by,
        at=NOW,
    )
    assert only(listed(world)).is_late
    an_order(soil.supplier_items.get().supplier, (soil, Mass.kg(9), 1), at=NOW)
    booked.needed_on = TODAY + timedelta(days=40)
    booked.save()
    assert listed(world).sections == ()


def test_one_thing_more_makes_the_smallest_order(world: World) -> None:
    low = stocked(world, "low", days=12)
    supplier = low.supplier_items.get().supplier
    low.supplier_items.update(price_cents=1_250)
    spare = stocked(world, "spare", days=150, supplier=supplier)
    change_supplier(supplier=supplier, min_order_cents=2_000, by=world.by, at=NOW)
    (section,) = listed(world).sections
    assert [(line.item, line.group) for line in section.lines] == [
        (low, "must"), (spare, "optional"),
    ]  # fmt: skip
    assert section.is_smallest_met
    assert section.goods == 2_500


def test_carriage_is_saved_only_by_what_costs_less_than_it(world: World) -> None:
    low = stocked(world, "low", days=12)
    supplier = low.supplier_items.get().supplier
    low.supplier_items.update(price_cents=1_250)
    stocked(world, "spare", days=150, supplier=supplier)
    change_supplier(
        supplier=supplier,
        carriage_cents=950,
        carriage_free_from_cents=2_000,
        by=world.by,
        at=NOW,
    )
    (section,) = listed(world).sections
    assert [line.group for line in section.lines] == ["must"]  # £12.50 to save £9.50
    assert (section.carriage, section.to_pay) == (950, 2_200)
    change_supplier(supplier=supplier, carriage_cents=1_300, by=world.by, at=NOW)
    (section,) = listed(world).sections
    assert [line.group for line in section.lines] == ["must", "optional"]
    assert (section.carriage, section.to_pay) == (0, 2_500)


# --- gas ----------------------------------------------------------------------------------------
def gas_world(world: World, spares: int) -> BuyList:
    gas = world.item("gas", "gas", "mass")
    supplier = world.supplier(gas, Mass.kg(2), is_exchange=True)
    add_supplier_item(
        supplier=supplier, item=gas, pack=Mass.g(500), price_cents=1_450, by=world.by, at=NOW
    )
    cylinders = [world.cylinder(gas, tank, serial=f"S{n}") for n, tank in enumerate(world.tanks)]
    for n in range(spares):
        world.cylinder(gas, None, serial=f"spare{n}")
    world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"))
    scale = world.scale(noise_g=2)
    for cylinder in cylinders:
        world.weigh(cylinder, scale, 200_000, moment(TODAY - timedelta(days=1), 9))
    return listed(world)


def test_a_cylinder_that_nobody_follows_is_exchanged_by_its_size() -> None:
    line = only(gas_world(a_world(days=7), spares=0))
    assert (line.packs, line.offer.pack_base, line.need) == (2, 2_000_000, None)
    assert len(line.cylinders) == 2


def test_a_full_one_in_the_store_follows_one_and_not_two() -> None:
    assert only(gas_world(a_world(days=7), spares=1)).packs == 1
    assert gas_world(a_world(days=7, code="second"), spares=2).sections == ()


# --- money, drafts, houses ----------------------------------------------------------------------
def test_joins_wait_for_cash_and_what_must_go_does_not(world: World) -> None:
    low = stocked(world, "low", days=12)
    supplier = low.supplier_items.get().supplier
    low.supplier_items.update(price_cents=1_250)
    stocked(world, "soon", days=33, supplier=supplier)
    set_budget(showroom=world.showroom, month_on=TODAY, amount_cents=2_000, by=world.by, at=NOW)
    found = listed(world)
    (section,) = found.sections
    assert [(line.packs, line.waits) for line in section.lines] == [(1, False), (0, True)]
    assert found.over == 0
    set_budget(showroom=world.showroom, month_on=TODAY, amount_cents=1_000, by=world.by, at=NOW)
    assert listed(world).over == 250


def test_what_was_sent_this_month_is_spent(world: World) -> None:
    low = stocked(world, "low", days=12)
    set_budget(showroom=world.showroom, month_on=TODAY, amount_cents=9_000, by=world.by, at=NOW)
    other = world.item("net", "other", "piece")
    supplier = world.supplier(other, Pieces(1), name="Nets")
    other.supplier_items.update(price_cents=300)
    an_order(supplier, (other, Pieces(1), 2), at=NOW)
    an_order(supplier, (other, Pieces(1), 5), at=NOW - timedelta(days=20))
    found = listed(world)
    assert found.spent == 600
    assert only(found).item == low


def test_the_draft_says_how_many(world: World) -> None:
    low = stocked(world, "low", days=12)
    supplier = low.supplier_items.get().supplier
    order = draft_order(supplier=supplier, by=world.by, at=NOW)
    set_line(order=order, item=low, pack=Volume.l(1), packs=3, by=world.by, at=NOW)
    found = listed(world)
    line = only(found)
    assert (line.packs, line.amount.packs) == (3, 1)
    assert found.sections[0].draft == order


def test_another_gallery_is_not_asked(world: World) -> None:
    stocked(world, "low", days=12)
    other = a_world(days=7, code="elsewhere")
    assert listed(other).sections == ()
