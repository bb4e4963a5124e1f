"""How much is in a container now."""

from __future__ import annotations

from datetime import timedelta

import pytest

from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.queries.levels import balance_base, levels
from inventory.services.plans import PlanLine
from tests.inventory.projections.world import NOW, TODAY, a_world, moment

pytestmark = pytest.mark.django_db


def test_a_bottle_holds_the_sum_of_its_movements() -> None:
    world = a_world(days=3)
    carbon = world.item("carbon", "fertiliser", "volume", density_mg_per_ml=1050)
    bottle = world.bottle(carbon)
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    world.dose_days(carbon, world.days())
    level = levels(world.showroom, NOW)[bottle.pk]
    assert level.base == level.ledger_base == 1_000_000 - 3 * 2 * 3_000
    assert level.base == balance_base(bottle)
    assert balance_base(bottle, moment(world.start, 23)) == 1_000_000 - 6_000
    assert level.measured_at is None


def test_gas_falls_by_plan_since_its_last_weighing() -> None:
    world = a_world(days=10, tanks=1)
    gas = world.item("gas", "gas", "mass")
    cylinder = world.cylinder(gas, world.tanks[0])
    world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"))
    weighed = moment(TODAY - timedelta(days=5), 8, 8)
    world.weigh(cylinder, world.scale(), 1_950_000, weighed)
    level = levels(world.showroom, NOW)[cylinder.pk]
    assert level.ledger_base == 1_950_000
    # five times 24 hours at 8 g a day
    assert level.base == pytest.approx(1_950_000 - 40_000, abs=5)
    assert level.measured_at == weighed
    assert level.usable_base == level.base - 100_000


def test_another_showroom_sees_none_of_it() -> None:
    world, other = a_world(days=2), a_world(days=2, code="elsewhere")
    carbon = world.item("carbon", "fertiliser", "volume")
    world.bottle(carbon)
    assert levels(other.showroom, NOW) == {}
