"""What is on order in time and enough of it does not ask again; late or too little does."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from gallery_ops.kernel.models import Alert
from gallery_ops.kernel.values.quantity import Mass, Volume
from gallery_ops.web.because import answers
from inventory.models import Forecast, Item, Supplier
from inventory.queries.cover import comes_in_time, covered, out_by
from inventory.queries.orders import OnOrder
from inventory.services import forecasts, reordering
from inventory.services.plans import PlanLine
from tests.builders.orders import a_pack, an_order
from tests.inventory.projections.world import NOW, TODAY, World, a_world, moment

pytestmark = pytest.mark.django_db


def _alerts(world: World) -> list[Alert]:
    forecasts.refresh(showroom=world.showroom, at=NOW)
    reordering.review(showroom=world.showroom, at=NOW)
    return list(Alert.objects.of(world.showroom).filter(closed_at=None, kind="reorder"))


def _low_stock(millilitres: int) -> tuple[World, Item, Supplier]:
    """Two tanks at 3 mL a day; seven days of lead time, vans on Tuesday and Friday."""
    world = a_world(days=7)
    carbon = world.item("carbon", "fertiliser", "volume")
    supplier = world.supplier(carbon, Volume.l(5))
    world.bottle(carbon, content=Volume.ml(millilitres + 7 * 6))
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    world.dose_days(carbon, world.days())
    return world, carbon, supplier


def test_what_was_ordered_in_time_does_not_ask_again() -> None:
    world, carbon, supplier = _low_stock(120)
    assert len(_alerts(world)) == 1
    an_order(supplier, (carbon, Volume.l(5), 1), at=NOW)
    assert _alerts(world) == []


def test_an_order_that_comes_too_late_leaves_the_alert_and_stands_in_its_because() -> None:
    world, carbon, supplier = _low_stock(30)
    an_order(supplier, (carbon, Volume.l(5), 1), at=NOW)
    (alert,) = _alerts(world)
    (told,) = [a for a in answers(alert.because) if a.term == "On order"]
    assert "5 L by order 0001, here between" in told.text


def test_an_order_of_too_little_leaves_the_alert() -> None:
    world, carbon, supplier = _low_stock(120)
    a_pack(supplier, carbon, Volume.ml(10), at=moment(TODAY, 5))
    an_order(supplier, (carbon, Volume.ml(10), 1), at=NOW)
    assert len(_alerts(world)) == 1


def test_an_order_that_should_have_come_leaves_the_alert() -> None:
    world, carbon, supplier = _low_stock(120)
    an_order(supplier, (carbon, Volume.l(5), 1), at=NOW - timedelta(days=60))
    (alert,) = _alerts(world)
    (told,) = [a for a in answers(alert.because) if a.term == "On order"]
    assert "late: ask the supplier" in told.text


def test_a_cylinder_to_come_covers_one_cylinder_and_not_two() -> None:
    world = a_world(days=10, tanks=2)
    gas = world.item("gas", "gas", "mass")
    supplier = world.supplier(gas, Mass.g(190), name="Quayhead Gas", stated_lead_days=3)
    scale = world.scale()
    world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"))
    for number, tank in enumerate(world.tanks):
        cylinder = world.cylinder(gas, tank, fill_g=190, serial=f"S{number}")
        world.weigh(cylinder, scale, 118_000, moment(TODAY - timedelta(days=1), 18))
    assert len(_alerts(world)) == 2
    an_order(supplier, (gas, Mass.g(190), 1), at=NOW)
    assert len(_alerts(world)) == 1


# --- the arithmetic, worked by hand -------------------------------------------------------------
def _row(per_day: int = 10, order_by: int = 0) -> Forecast:
    """Runs out on days 11 to 29, each twentieth one day later."""
    return Forecast(
        item=Item(harm_class="B"),
        as_of_on=date(2026, 3, 12),
        quantiles_days=list(range(11, 30)),
        plan_base_per_day=per_day,
        order_by_on=date(2026, 3, 12) + timedelta(days=order_by),
    )


def _coming(first: int, last: int | None, base: int = 1_000) -> OnOrder:
    on = date(2026, 3, 12)
    return OnOrder(
        base=base,
        expected_from=on + timedelta(days=first),
        expected_to=on + timedelta(days=last) if last is not None else None,
        order_number=1,
        packs=1,
        pack_base=base,
    )


def test_the_chance_to_be_out_is_read_off_the_quantiles() -> None:
    chances = [out_by(_row(), date(2026, 3, 12) + timedelta(days=n)) for n in (10, 11, 20, 29)]
    assert chances == [0.0, 0.05, 0.5, 0.95]


@pytest.mark.parametrize(
    ("first", "last", "in_time"),
    [(5, 10, True), (9, 13, True), (11, 14, False), (5, None, False)],
)
def test_in_time_is_at_most_twice_the_accepted_chance(
    first: int, last: int | None, in_time: bool
) -> None:
    """Class B: 5 %, twice 10 %. Days 9 to 13: (0 + 0 + 5 + 10 + 15) / 5 = 6 %; 11 to 14: 12.5 %."""
    assert comes_in_time(_row(), _coming(first, last)) is in_time


def test_enough_moves_the_order_by_date_beyond_the_next_look() -> None:
    today = date(2026, 3, 12)
    assert covered(_row(order_by=1), [_coming(2, 3, base=70)], today, 7)
    assert not covered(_row(order_by=1), [_coming(2, 3, base=60)], today, 7)
    assert not covered(_row(order_by=1), [], today, 7)
