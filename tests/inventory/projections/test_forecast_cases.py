"""What the forecast is told of a gallery."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.values.quantity import Mass, Pieces, Volume
from inventory.forecast.engine import project
from inventory.forecast.types import Case, Pool
from inventory.models import Container, GoodsReceipt, PurchaseOrder
from inventory.queries.forecast_cases import Subject, forecast_subjects
from inventory.services.calibration import record_press_calibration
from inventory.services.containers import NewContainer, receive
from inventory.services.counting import count
from inventory.services.decant import decant
from inventory.services.eye_counts import record_eye_count
from inventory.services.feeder import record_feeder_calibration
from inventory.services.plans import PlanLine, stop_plans
from inventory.services.supplies import connect_supply
from tests.inventory.projections.world import NOW, TODAY, World, a_world, moment

pytestmark = pytest.mark.django_db


def told(world: World) -> dict[str, Subject]:
    return {subject.key: subject for subject in forecast_subjects(world.showroom, NOW)}


def a_dosed_world(days: int = 14, tanks: int = 2, **round_: int) -> tuple[World, Subject, Subject]:
    world = a_world(days, tanks)
    carbon = world.item("carbon", "fertiliser", "volume", density_mg_per_ml=1050)
    bottle = world.bottle(carbon)
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    if round_:
        for day in world.days():
            world.dose_day(carbon, day, **round_)
    else:
        world.dose_days(carbon, world.days())
    subjects = told(world)
    return world, subjects[f"container:{bottle.pk}"], subjects[f"item:{carbon.pk}"]


def test_ticks_amounts_and_plan_ahead_are_those_of_the_gallery() -> None:
    _, bottle, item = a_dosed_world(days=5, skip=1)
    case = bottle.stock
    assert isinstance(case, Case)
    # five past days, and today, which counts as given
    assert case.ticks == {"T001": "sssssd", "T002": "dddddd"}
    assert case.unit == "mL"
    assert case.as_of == TODAY
    ahead = [s for s in case.plan if s.end is None]
    assert [(s.line, s.per_day, s.by) for s in ahead] == [
        ("T001", 3.0, "hand"),
        ("T002", 3.0, "hand"),
    ]
    assert isinstance(item.stock, Pool)
    assert bottle.per_day == 6_000
    assert bottle.level == 1_000_000 - 5 * 3_000


def test_a_day_without_a_record_is_unticked() -> None:
    world = a_world(days=4)
    carbon = world.item("carbon", "fertiliser", "volume")
    bottle = world.bottle(carbon)
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    world.dose_day(carbon, TODAY - timedelta(days=2))
    case = told(world)[f"container:{bottle.pk}"].stock
    assert isinstance(case, Case)
    assert case.ticks["T001"] == "mmdmd"


def test_level_of_the_projection_follows_the_ledger() -> None:
    _, bottle, _ = a_dosed_world(days=14)
    found = project([bottle.stock])[0]
    # ledger 1000 - 14 x 6 and today's 6 still to come, no weighing yet
    assert found.level == pytest.approx(1000 - 15 * 6, abs=6)
    assert found.is_never_measured


def test_a_weighing_before_the_round_counts_for_the_evening_before() -> None:
    world, bottle, _ = a_dosed_world(days=14)
    assert bottle.container is not None
    world.weigh(bottle.container, world.scale(), 910_000, moment(TODAY, 7))
    case = told(world)[bottle.key].stock
    assert isinstance(case, Case)
    seen = [o for o in case.observations if o.kind == "weigh"]
    assert [o.on for o in seen] == [TODAY - timedelta(days=1)]
    assert seen[0].value == pytest.approx(910, abs=1)


def test_a_part_full_cylinder_weighed_on_its_first_day_teaches_no_factor() -> None:
    world = a_world(days=10, tanks=1)
    gas = world.item("gas", "gas", "mass")
    one = world.cylinder(gas, world.tanks[0])
    world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"))
    scale = world.scale()
    world.weigh(one, scale, 1_060_000, moment(world.start, 6, 30))
    world.weigh(one, scale, 1_060_000 - 7 * 8_000, moment(TODAY - timedelta(days=3), 6, 30))
    (found,) = project([told(world)[f"container:{one.pk}"].stock])
    assert found.factor == pytest.approx(1.0, abs=0.1)
    # three days and today at 8 g since the last weighing, 100 g of 2,000 stay in it
    assert found.level == pytest.approx(1060 - 56 - 32 - 100, abs=8)


def test_presses_weighed_are_an_observation_of_the_use_factor() -> None:
    world, bottle, _ = a_dosed_world(days=3)
    assert bottle.container is not None
    record_press_calibration(
        container=bottle.container,
        presses=20,
        mass=Mass.g("19.4"),
        by=world.by,
        at=moment(TODAY, 7),
    )
    world.dose_day(bottle.item, TODAY)
    case = told(world)[bottle.key].stock
    assert isinstance(case, Case)
    # the plan stays as the instruction reckons it; 20 presses of 0.924 instead of 1 mL
    assert [s.per_day for s in case.plan if s.end is None] == [3.0, 3.0]
    assert {s.per_day for s in case.plan if s.line == "T001"} == {3.0}
    assert case.ticks["T001"] == "dddd"
    (seen,) = case.calibration
    assert (seen.on, seen.factor) == (TODAY, 0.924)
    # two weighings to 0.3 g of 19.4 g, and 3 % from press to press over 20 presses
    assert seen.sd == pytest.approx(0.924 * (0.0219**2 + 0.03**2 / 20) ** 0.5, abs=1e-4)
    (found,) = project([case])
    assert found.factor == pytest.approx(0.924, abs=0.02)


def test_an_emptied_tank_and_a_ramp_are_in_the_plan_ahead() -> None:
    world = a_world(days=2)
    carbon = world.item("carbon", "fertiliser", "volume")
    bottle = world.bottle(carbon)
    later = TODAY + timedelta(days=9)
    world.plan(
        carbon, "dose",
        PlanLine(Volume.ml(3), to_on=later), PlanLine(Volume.ml(6), from_on=later),
    )  # fmt: skip
    stop_plans(tank=world.tanks[1], on=TODAY + timedelta(days=4), by=world.by, at=NOW)
    case = told(world)[f"container:{bottle.pk}"].stock
    assert isinstance(case, Case)
    ahead = {(s.line, s.start, s.end, s.per_day) for s in case.plan if s.start > TODAY}
    tomorrow = TODAY + timedelta(days=1)
    assert ahead == {
        ("T001", tomorrow, later, 3.0),
        ("T001", later, None, 6.0),
        ("T002", tomorrow, TODAY + timedelta(days=4), 3.0),
    }


def test_unopened_cans_are_the_reserve_of_the_item() -> None:
    world, _, _ = a_dosed_world(days=2)
    carbon = told(world)
    before = next(s for s in carbon.values() if s.container is None)
    world.stored(before.item, "can", Volume.l(5), count=2)
    after = told(world)[before.key].stock
    assert isinstance(after, Pool)
    assert after.reserve == pytest.approx(10_000)
    assert told(world)[before.key].level == before.level + 10_000_000


def test_filled_to_the_line_is_known_to_a_twentieth_of_a_full_one_and_widens_the_range() -> None:
    # common practice, no source: a line is good to about 5 % of what a full one holds. A bottle of
    # a litre that is short of 24 mL by the books gets 6 mL by a jug, then 18 more up to its line
    world, before, item = a_dosed_world(days=4)
    world.stored(item.item, "can", Volume.l(5))
    can, bottle = Container.objects.get(item=item.item, kind="can"), before.container
    assert bottle is not None
    decant(source=can, into=bottle, by=world.by, at=moment(TODAY, 6), amount=Volume.ml(6))
    by_jug = told(world)[before.key].stock
    decant(source=can, into=bottle, by=world.by, at=moment(TODAY, 7))
    to_the_line = told(world)[before.key].stock
    assert isinstance(by_jug, Case)
    assert isinstance(to_the_line, Case)
    assert [(e.amount, e.sd) for e in to_the_line.events[-2:]] == [
        (6.0, pytest.approx(0.3)),
        (18.0, 50.0),
    ]
    jug, line = project([by_jug])[0], project([to_the_line])[0]
    assert line.level == pytest.approx(jug.level + 18)
    assert line.level_sd == pytest.approx((jug.level_sd**2 + 50**2) ** 0.5, rel=1e-3)


def test_tanks_with_a_plan_and_no_container_use_the_item_all_the_same() -> None:
    world, _, item = a_dosed_world(days=2)
    loose = world.add_tanks(1)
    other = world.item("iron", "fertiliser", "volume")
    world.plan(other, "dose", PlanLine(Volume.ml(2)), tanks=loose)
    world.stored(other, "can", Volume.l(5))
    subject = told(world)[f"item:{other.pk}"]
    assert subject.per_day == 2_000
    assert project([subject.stock])[0].level == pytest.approx(5000)
    assert told(world)[item.key].per_day == 6_000


def test_gas_is_a_case_by_cylinder_and_no_pool() -> None:
    world = a_world(days=10, tanks=2)
    gas = world.item("gas", "gas", "mass")
    one = world.cylinder(gas, world.tanks[0])
    world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"))
    subjects = told(world)
    assert list(subjects) == [f"container:{one.pk}"]
    case = subjects[f"container:{one.pk}"].stock
    assert isinstance(case, Case)
    assert not case.ticked
    assert case.vessels[0].unusable == pytest.approx(100)
    found = project([case])[0]
    assert found.factor == pytest.approx(1)
    # (2000 - 100 - 11 days x 8) / 8 days more
    assert found.quantile(0.5) == pytest.approx((1900 - 88) / 8, abs=4)


@pytest.mark.once
def test_queries_do_not_grow_with_the_fleet() -> None:
    counts = []
    for tanks, code in ((2, "small"), (12, "large")):
        world = a_world(days=3, tanks=tanks, code=code)
        carbon = world.item("carbon", "fertiliser", "volume")
        gas = world.item("gas", "gas", "mass")
        world.bottle(carbon)
        world.supplier(carbon, Volume.l(5))
        for n, tank in enumerate(world.tanks):
            world.cylinder(gas, tank, serial=f"S{n}")
        world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
        world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"))
        world.dose_day(carbon, world.start)
        with CaptureQueriesContext(
            connection,
        ) as caught:
            forecast_subjects(world.showroom, NOW)
        counts.append(len(caught))
    assert counts[0] == counts[1]
    assert counts[0] <= 18


def test_a_look_in_quarters_is_told_unless_the_scale_was_there_lately() -> None:
    world, bottle, _ = a_dosed_world(days=14)
    assert bottle.container is not None
    record_eye_count(
        container=bottle.container, quarters=3, by=world.by, at=moment(TODAY - timedelta(days=9))
    )
    world.weigh(bottle.container, world.scale(), 910_000, moment(TODAY - timedelta(days=4), 18))
    record_eye_count(
        container=bottle.container, quarters=2, by=world.by, at=moment(TODAY - timedelta(days=1))
    )
    case = told(world)[bottle.key].stock
    assert isinstance(case, Case)
    seen = [(o.on, o.value) for o in case.observations if o.kind == "eye"]
    assert seen == [(TODAY - timedelta(days=9), 0.75)]


def test_portions_weighed_make_a_feeder_sure_and_give_whole_portions() -> None:
    world = a_world(days=3, tanks=2)
    food = world.item("granules", "food", "mass")
    tub = world.tub(food, 100, world.start)
    world.plan(food, "food", PlanLine(Mass.g("0.5"), means="feeder"))
    record_feeder_calibration(
        tank=world.tanks[0], item=food, portions=20, mass=Mass.g("1.8"), by=world.by, at=NOW
    )
    case = told(world)[f"container:{tub.pk}"].stock
    assert isinstance(case, Case)
    # six portions of 90 mg are nearest to half a gram
    ahead = {s.line: (s.by, s.per_day) for s in case.plan if s.start > TODAY}
    assert ahead == {"T001": ("valve", 0.54), "T002": ("feeder", 0.5)}


def test_a_gas_line_counts_only_while_it_was_connected() -> None:
    world = a_world(days=10, tanks=2)
    gas = world.item("gas", "gas", "mass")
    one = world.cylinder(gas, world.tanks[0])
    world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"))
    change = moment(TODAY - timedelta(days=4), 9)
    connect_supply(container=one, purpose="gas", tank=world.tanks[1], by=world.by, at=change)
    case = told(world)[f"container:{one.pk}"].stock
    assert isinstance(case, Case)
    assert {line: ticks.count("d") for line, ticks in case.ticks.items()} == {"T001": 1, "T002": 1}
    past = {s.line: (s.start, s.end) for s in case.plan if s.start <= TODAY}
    assert past["T002"] == (TODAY - timedelta(days=4), TODAY + timedelta(days=1))


def test_an_item_of_pieces_without_a_plan_is_told_by_the_days_it_was_asked_for() -> None:
    world = a_world(days=30, tanks=1)
    strips = world.item("strips", "test", "piece")
    world.supplier(strips, Pieces(25))
    (box,) = receive(
        item=strips, containers=[NewContainer("box", Pieces(25))], by=world.by, at=world.begins
    )
    for days_ago, left in ((20, 23), (11, 20), (3, 18)):
        count(
            container=box, counted=Pieces(left), by=world.by,
            at=moment(TODAY - timedelta(days=days_ago)),
        )  # fmt: skip
    subject = told(world)[f"item:{strips.pk}"]
    case = subject.stock
    assert isinstance(case, Case)
    assert case.demand is not None
    assert len(case.demand) == 31
    asked = {n: pieces for n, pieces in enumerate(reversed(case.demand)) if pieces}
    assert asked == {20: 2, 11: 3, 3: 2}
    (found,) = project([case])
    assert found.level == 18
    assert 0 < found.quantile(0.5) < 400


def test_the_orders_that_came_teach_the_lead_time() -> None:
    world, _, item = a_dosed_world(days=2)
    supplier = world.supplier(item.item, Volume.l(5))
    for days_ago, took in ((40, 9), (20, 11)):
        sent = moment(TODAY - timedelta(days=days_ago))
        order = PurchaseOrder.objects.create(
            showroom=world.showroom, number=days_ago, supplier=supplier, state="closed",
            made_at=sent, made_by=world.by.person, sent_at=sent, sent_by=world.by.person,
        )  # fmt: skip
        came = sent + timedelta(days=took)
        GoodsReceipt.objects.create(
            showroom=world.showroom, supplier=supplier, order=order, person=world.by.person,
            done_at=came, done_at_corrected=came, entered_at=came,
        )  # fmt: skip
    pool = told(world)[item.key].stock
    assert isinstance(pool, Pool)
    assert pool.supplier is not None
    assert pool.supplier.past_lead_days == (9.0, 11.0)
