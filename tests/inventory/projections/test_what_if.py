"""What if: the dates move as the plan moves, and nothing is saved."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import Forecast
from inventory.queries.what_if import Choices, NewTanks, WhatIfLine, what_if
from inventory.services.plans import PlanLine
from tests.inventory.projections.world import NOW, TODAY, World, a_world

pytestmark = pytest.mark.django_db
TOMORROW = TODAY + timedelta(days=1)


def a_gallery(tanks: int = 2, code: str = "undershore") -> World:
    """Two doses of 3 mL, food by hand, gas; one tank in a ramp."""
    world = a_world(days=10, tanks=tanks, code=code)
    carbon = world.item("carbon", "fertiliser", "volume", full_dose_ul_per_l=50)
    world.supplier(carbon, Volume.l(5))
    world.bottle(carbon)
    first, *others = world.tanks
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)), tanks=others)
    turn = TODAY + timedelta(days=30)
    world.plan(
        carbon, "dose", PlanLine(Volume.ml(1), to_on=turn),
        PlanLine(Volume.ml(3), from_on=turn), tanks=[first],
    )  # fmt: skip
    food = world.item("granules", "food", "mass")
    world.tub(food, 100, world.start)
    world.plan(food, "food", PlanLine(Mass.g("0.5")))
    gas = world.item("gas", "gas", "mass")
    world.cylinder(gas, world.tanks[0])
    world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"), tanks=[first])
    return world


def asked(world: World, **choices: object) -> dict[str, WhatIfLine]:
    found = what_if(world.showroom, NOW, Choices(**choices))  # type: ignore[arg-type]
    return {line.item_name: line for line in found.lines}


def test_nothing_asked_moves_nothing_and_saves_nothing() -> None:
    world = a_gallery()
    lines = asked(world)
    assert set(lines) == {"Carbon", "Granules", "Gas"}
    for line in lines.values():
        assert line.moved_days == 0.0
        assert line.more_base == 0
        assert line.now == line.then
    assert not Forecast.objects.exists()


def test_a_tenth_more_of_each_dose_ends_a_tenth_sooner_and_leaves_food_and_gas() -> None:
    lines = asked(a_gallery(), dose_percent=10)
    carbon = lines["Carbon"]
    assert carbon.moved_days is not None
    before = carbon.now.quantiles[9]
    # the last days are all at full dose: 1/11 less of them, and a little of the ramp
    assert carbon.moved_days == pytest.approx(-before / 11, rel=0.15)
    # 26 to 30 days of 4 mL and then 6 mL: a tenth of that
    assert carbon.more_base == pytest.approx(0.1 * (29 * 4 + 27 * 6) * 1_000, rel=0.03)
    assert lines["Granules"].moved_days == lines["Gas"].moved_days == 0.0


def test_while_closed_nothing_is_given_by_hand_and_food_goes_on_by_feeder() -> None:
    world, days = a_gallery(), 14
    asked_for = {"closed_from": TOMORROW, "closed_to": TOMORROW + timedelta(days=days)}
    lines = asked(world, **asked_for)
    carbon, food, gas = (lines[name] for name in ("Carbon", "Granules", "Gas"))
    assert carbon.moved_days is not None
    # 14 days of 4 mL are not given; they are given later at 6 mL a day
    assert carbon.moved_days == pytest.approx(14 * 4 / 6, abs=1.5)
    # a feeder leaves nothing out, and its portion is a guess until it was weighed
    assert food.moved_days is not None
    assert -3.0 < food.moved_days <= 0.0
    assert gas.moved_days == 0.0
    without = asked(world, feeders_when_closed=False, **asked_for)["Granules"]
    assert without.moved_days == pytest.approx(14, abs=1.0)


def test_start_ups_at_full_dose_are_their_last_step_from_tomorrow_on() -> None:
    carbon = asked(a_gallery(), startups_full=True)["Carbon"]
    # 29 days of 2 mL more
    assert carbon.more_base == pytest.approx(29 * 2 * 1_000, rel=0.03)
    assert carbon.moved_days is not None
    assert carbon.moved_days < 0


def test_one_more_tank_takes_the_full_dose_of_its_volume_after_its_ramp() -> None:
    world = a_gallery()
    new = NewTanks(1, 600, 300, 360, TOMORROW)  # 64.8 L, 3.24 mL a day
    lines = asked(world, tanks=new)
    carbon = lines["Carbon"]
    # eight weeks: a week of nothing, a week each of a third and of two thirds, 35 days of all
    assert carbon.more_base == pytest.approx(3.24 * (7 / 3 + 14 / 3 + 35) * 1_000, rel=0.03)
    at_once = asked(world, tanks=new, startups_full=True)["Carbon"]
    assert at_once.more_base > carbon.more_base
    # food as much per litre as the others, after four weeks
    assert lines["Granules"].more_base == pytest.approx(0.5 * 28 * 1_000, rel=0.1)
    assert lines["Gas"].moved_days == 0.0


@pytest.mark.parametrize(
    ("choices", "field"),
    [
        ({"dose_percent": 400}, "dose_percent"),
        ({"closed_from": TOMORROW}, "closed_to"),
        ({"closed_from": TOMORROW, "closed_to": TODAY}, "closed_to"),
        ({"closed_from": TOMORROW, "closed_to": TODAY + timedelta(days=300)}, "closed_to"),
        ({"tanks": NewTanks(0, 600, 300, 360, TOMORROW)}, "count"),
        ({"tanks": NewTanks(1, 600, 30, 360, TOMORROW)}, "width_mm"),
        ({"tanks": NewTanks(1, 600, 300, 360, TODAY - timedelta(days=1))}, "from_on"),
    ],
)
def test_a_choice_out_of_range_is_refused_in_words(choices: dict[str, object], field: str) -> None:
    world = a_world(days=1, tanks=1)
    with pytest.raises(Refused) as no:
        what_if(world.showroom, NOW, Choices(**choices))  # type: ignore[arg-type]
    assert set(no.value.fields) == {field}
    assert "Allowed" in no.value.fields[field]


@pytest.mark.once
def test_queries_do_not_grow_with_the_fleet() -> None:
    counts = []
    for tanks, code in ((2, "few"), (9, "many")):
        world = a_gallery(tanks, code)
        with CaptureQueriesContext(connection) as caught:
            what_if(world.showroom, NOW, Choices(dose_percent=10))
        counts.append(len(caught))
    assert counts[0] == counts[1]
