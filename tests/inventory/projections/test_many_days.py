"""Does the short way of entering many days write what the services write?"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from gallery_ops.kernel.models import WorkItem
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import Item, Movement, Use
from inventory.services.containers import NewContainer, receive
from inventory.services.plans import PlanLine
from inventory.services.supplies import connect_supply
from tests.inventory.projections.world import TODAY, World, a_world, moment

pytestmark = pytest.mark.django_db
LEFT_OUT = {"id", "showroom", "person", "item", "container", "tank", "plan", "lot", "use"}


def a_gallery(code: str) -> tuple[World, Item]:
    """Three tanks on the bottle of their zone, and one with a bottle of its own."""
    world = a_world(9, 4, code)
    carbon = world.item("carbon", "fertiliser", "volume", density_mg_per_ml=1000)
    world.bottle(carbon)
    own = NewContainer("bottle", Volume.ml(500), tare=Mass.g(60), name="own", press_nominal_ul=800)
    (bottle,) = receive(item=carbon, containers=[own], by=world.by, at=world.begins)
    tank = world.tanks[2]
    connect_supply(container=bottle, purpose="dose", tank=tank, by=world.by, at=world.begins)
    world.plan(carbon, "dose", PlanLine(Volume.ml(3), weekdays="1010110"), tanks=world.tanks[:3])
    return world, carbon


def written(world: World) -> tuple[list[Any], list[Any], list[Any]]:
    """Every column of what was entered, with names in place of keys."""
    tank_of = {tank.pk: n for n, tank in enumerate(world.tanks)}

    def rows(model: Any, *names: str) -> list[dict[str, Any]]:
        columns = {f.name for f in model._meta.concrete_fields} - LEFT_OUT
        asked = model.objects.filter(showroom=world.showroom).order_by("done_at", "pk")
        return list(asked.values(*sorted(columns), "item__code", "container__name", *names))

    uses = rows(Use, "tank_id", "plan__version", "plan__tank_id")
    for use in uses:
        for name in ("tank_id", "plan__tank_id"):
            use[name] = tank_of.get(use[name])
    wanted = WorkItem.objects.filter(showroom=world.showroom).order_by("pk")
    return (
        uses,
        rows(Movement, "use__done_at", "use__given_base", "lot__item__code"),
        list(wanted.values_list("kind", "wanted_at", "due_at", "done_at")),
    )


def test_many_days_at_once_are_the_days_one_by_one() -> None:
    one_by_one, item = a_gallery("one")
    for day in one_by_one.days():
        one_by_one.dose_day(item, day, presses=2)
    at_once, item = a_gallery("all")
    at_once.dose_days(item, at_once.days(), presses=2)
    served, made = written(one_by_one), written(at_once)
    assert len(served[0]) == 36
    assert made == served


def test_it_refuses_days_in_which_something_was_measured() -> None:
    world, carbon = a_gallery("undershore")
    world.dose_days(carbon, world.days()[:4])
    bottle = Use.objects.order_by("pk")[0].container
    assert bottle is not None
    world.weigh(bottle, world.scale(), 900_000, moment(TODAY - timedelta(days=3), 7))
    with pytest.raises(AssertionError):
        world.dose_days(carbon, world.days()[4:])
