"""One item and one container: what is left, in which order it is used, and how that is known."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import AuditEntry
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import Container, Item
from inventory.queries.container_page import container_page
from inventory.queries.levels import balance_base
from inventory.queries.movements import MOVEMENTS_PER_PAGE
from inventory.queries.stock_item import item_page
from inventory.services import forecasts, stock_lines
from inventory.services.calibration import record_press_calibration
from inventory.services.containers import NewContainer, finish, move_container, receive
from inventory.services.item_changes import set_density
from inventory.services.plans import PlanLine
from inventory.services.weighing import take_back_weighing
from tests.builders.people import a_member
from tests.inventory.projections.world import NOW, TODAY, World, a_world, moment

pytestmark = pytest.mark.django_db


def a_shelf(days: int = 7, code: str = "undershore") -> tuple[World, Item, Container]:
    """A bottle that feeds two tanks, and four cans of which one is open."""
    world = a_world(days, 2, code)
    carbon = world.item("carbon", "fertiliser", "volume", opened_life_days=180)
    world.supplier(carbon, Volume.l(5))
    bottle = world.bottle(carbon)
    for name, expires in (("late", date(2028, 1, 1)), ("soon", date(2026, 9, 1)), ("bare", None)):
        receive(
            item=carbon,
            containers=[NewContainer("can", Volume.l(5), name=name)],
            by=world.by,
            at=world.begins,
            expires_on=expires,
            maker_lot=f"lot {name}",
        )
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    return world, carbon, bottle


def test_what_is_in_use_comes_first_then_what_goes_off_first() -> None:
    world, _carbon, _bottle = a_shelf()
    page = item_page(world.showroom, "carbon", NOW)
    assert [row.container.name for row in page.rows] == ["bottle", "soon", "late", "bare"]
    assert [row.container.name for row in page.rows if row.is_next] == ["soon"]
    assert page.rows[0].feeds == ("zone A",)
    finish(container=page.rows[1].container, by=world.by, at=NOW)
    page = item_page(world.showroom, "carbon", NOW)
    assert [row.container.name for row in page.rows if row.is_next] == ["late"]
    assert {row.lot.maker_lot: row.here for row in page.lots} == {
        "lot late": 1, "lot soon": 0, "lot bare": 1, "": 1,
    }  # fmt: skip
    assert page.offers[0].weekdays == (1, 4)
    assert page.offers[0].pack == Volume.l(5)


@pytest.mark.parametrize(
    ("expires", "counts", "which"),
    [
        (date(2026, 4, 1), date(2026, 4, 1), "printed"),
        (date(2027, 4, 1), date(2026, 9, 1), "opened"),
        (None, date(2026, 9, 1), "opened"),
    ],
)
def test_of_printed_and_opened_the_earlier_day_counts(
    expires: date | None, counts: date, which: str
) -> None:
    """Opened on 5 March 2026 and good for 180 days: 1 September, counted on a calendar."""
    world = a_world(days=7)
    carbon = world.item("carbon", "food", "mass", opened_life_days=180)
    world.tub(carbon, 100, opened=date(2026, 3, 5), expires_on=expires)
    (row,) = item_page(world.showroom, "carbon", NOW).rows
    assert (row.too_old_on, row.too_old_by) == (counts, which)


def test_the_sum_of_all_entries_is_the_balance_page_by_page() -> None:
    world, carbon, bottle = a_shelf(days=20)
    world.dose_days(carbon, world.days())
    whole = container_page(world.showroom, bottle.code, NOW)
    assert whole.movements == 1 + 2 * 20
    assert whole.balance.base == balance_base(bottle) == 1_000_000 - 40 * 3_000
    seen, number = [], 1
    while True:
        entries = container_page(world.showroom, bottle.code, NOW, entries=number).entries
        seen += entries.rows
        if not entries.has_next:
            break
        assert len(entries.rows) == MOVEMENTS_PER_PAGE
        number += 1
    assert number == 2
    assert sum(row.amount.base for row in seen) == whole.balance.base
    moments = [row.movement.done_at_corrected for row in seen]
    assert moments == sorted(moments, reverse=True)
    assert {row.tank for row in seen} == {"T001", "T002", ""}


@pytest.mark.parametrize("number", ["", "x", "-3", "0", "1"])
def test_a_page_number_that_is_none_is_the_first(number: str) -> None:
    world, _, bottle = a_shelf()
    assert container_page(world.showroom, bottle.code, NOW, entries=number).entries.number == 1


def test_given_day_by_day_beside_the_plan() -> None:
    world, carbon, _ = a_shelf(days=3)
    world.dose_day(carbon, world.days()[0])
    world.dose_day(carbon, world.days()[1], skip=1)
    days = {day.day: day for day in item_page(world.showroom, "carbon", NOW).days}
    assert len(days) == 28
    assert max(days) == TODAY
    assert [days[d].given.base for d in world.days()] == [6_000, 3_000, 0]
    assert [days[d].planned.base for d in world.days()] == [6_000, 6_000, 0]


def test_a_weighing_stands_beside_what_was_expected_and_one_taken_back_is_marked() -> None:
    world, _carbon, bottle = a_shelf()
    scale = world.scale()
    world.weigh(bottle, scale, 900_000, moment(TODAY - timedelta(days=4)))
    world.weigh(bottle, scale, 880_000, moment(TODAY - timedelta(days=2)))
    world.weigh(bottle, scale, 700_000, moment(TODAY, 7))
    last = container_page(world.showroom, bottle.code, NOW).weighings[0]
    take_back_weighing(weighing=last.weighing, by=world.by, at=moment(TODAY, 7, 30))
    page = container_page(world.showroom, bottle.code, NOW)
    assert [row.found.base for row in page.weighings] == [700_000, 880_000, 900_000]
    assert [row.expected.base for row in page.weighings] == [880_000, 900_000, 1_000_000]
    assert [row.stands for row in page.weighings] == [False, True, True]
    assert page.weighings[2].off_part == pytest.approx(-0.1)
    assert page.weighings[1].off == Volume(-20_000)
    per_day = page.weighings[1].per_day
    assert per_day is not None
    assert per_day.base == 10_000
    assert page.weighings[0].per_day is None
    assert page.row.measured_at == moment(TODAY - timedelta(days=2))


def test_a_press_is_shown_against_its_instruction() -> None:
    world, _carbon, bottle = a_shelf()
    record_press_calibration(
        container=bottle, presses=20, mass=Mass(18_480), by=world.by, at=world.begins
    )
    (row,) = container_page(world.showroom, bottle.code, NOW).calibrations
    assert row.per_press == Volume.ml("0.924")
    assert row.off_part == pytest.approx(-0.076)


def test_gas_in_use_has_the_level_of_its_line_and_a_projection() -> None:
    world = a_world(days=10, tanks=1)
    gas = world.item("gas", "gas", "mass")
    cylinder = world.cylinder(gas, world.tanks[0])
    world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"))
    forecasts.refresh(showroom=world.showroom, at=NOW)
    stock_lines.refresh(showroom=world.showroom, at=NOW)
    page = container_page(world.showroom, cylinder.code, NOW)
    assert page.balance == Mass.kg(2)
    assert page.line is not None
    assert page.row.level == page.line.level
    assert Mass.g(1910) < page.row.level < Mass.g(1930)
    assert page.row.name == "Gas of T001"
    assert [(p.name, p.to_at) for p in page.periods] == [("T001", None)]
    item = item_page(world.showroom, "gas", NOW)
    assert (item.lines_in_all, item.level) == (1, page.line.level)


def test_an_unknown_or_a_strangers_name_is_unknown() -> None:
    world, _, bottle = a_shelf()
    other = a_world(days=2, code="elsewhere")
    with pytest.raises(Unknown):
        item_page(other.showroom, "carbon", NOW)
    for code in (bottle.code, "no code", "ZZZZZZZZ"):
        with pytest.raises(Unknown):
            container_page(other.showroom, code, NOW)
    typed = f"{bottle.code[:4].lower()} {bottle.code[4:]}"
    assert container_page(world.showroom, typed, NOW).container == bottle


def test_a_density_that_was_measured_is_no_longer_assumed() -> None:
    world, carbon, _ = a_shelf()
    assert carbon.density_is_assumed
    set_density(item=carbon, mg_per_ml=1050, by=world.by, at=NOW)
    carbon.refresh_from_db()
    assert (carbon.density_mg_per_ml, carbon.density_is_assumed) == (1050, False)
    assert AuditEntry.objects.filter(deed="item.density").count() == 1


@pytest.mark.parametrize("wrong", [499, 2501, 0, -1000])
def test_a_density_that_no_liquid_has_is_refused(wrong: int) -> None:
    world, carbon, _ = a_shelf()
    with pytest.raises(Refused, match="Density") as no:
        set_density(item=carbon, mg_per_ml=wrong, by=world.by, at=NOW)
    assert "0.5 to 2.5 g/mL" in no.value.fields["density"]


def test_a_density_is_for_liquids_and_for_those_who_may_correct() -> None:
    world, carbon, _ = a_shelf()
    food = world.item("granules", "food", "mass")
    with pytest.raises(Refused, match="not counted as a volume"):
        set_density(item=food, mg_per_ml=1050, by=world.by, at=NOW)
    with pytest.raises(Forbidden):
        set_density(item=carbon, mg_per_ml=1050, by=a_member(world.by), at=NOW)


def test_a_container_moves_once_and_not_into_a_strangers_room() -> None:
    world, _, bottle = a_shelf()
    for _ in range(2):
        move_container(container=bottle, room=world.room, place=" top ", by=world.by, at=NOW)
    bottle.refresh_from_db()
    assert (bottle.room, bottle.place) == (world.room, "top")
    assert AuditEntry.objects.filter(deed="container.moved").count() == 1
    room = a_world(days=2, code="elsewhere").room
    with pytest.raises(Unknown):
        move_container(container=bottle, room=room, place="", by=world.by, at=NOW)


@pytest.mark.once
def test_queries_do_not_grow_with_containers_or_entries() -> None:
    counts = []
    for code, more in (("small", 1), ("large", 30)):
        world, carbon, bottle = a_shelf(code=code, days=more)
        world.stored(carbon, "can", Volume.l(5), count=more)
        world.dose_days(carbon, world.days())
        found = []
        for ask in (
            lambda w=world: item_page(w.showroom, "carbon", NOW),
            lambda w=world, b=bottle: container_page(w.showroom, b.code, NOW),
        ):
            with CaptureQueriesContext(connection) as caught:
                ask()
            found.append(len(caught))
        counts.append(found)
    assert counts[0] == counts[1]
    assert max(counts[0]) <= 21
