"""Stock for a test: items, bottles, cylinders, plans, made by the services of the house."""

from __future__ import annotations

from datetime import datetime
from itertools import count
from typing import Any

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.quantity import Mass, Quantity, Volume
from inventory.models import Container, Item, Scale, Supply, UsePlan
from inventory.services.containers import NewContainer, receive
from inventory.services.cylinders import NewCylinder, add_cylinder
from inventory.services.items import add_item, add_scale
from inventory.services.plans import PlanLine, set_plan
from inventory.services.supplies import connect_supply
from tanks.models import Tank
from tests.builders.gallery import AT, a_zone, an_owner

HALF_A_LITRE = Volume.ml(500)
HALF_A_KILO = Mass.g(500)
A_TUB_FULL = Mass.g(100)
EMPTY_BOTTLE = Mass.g(65)
_numbers = count(1)


def a_fertiliser(showroom: Showroom, *, at: datetime = AT, **changes: Any) -> Item:
    """A liquid of density 1.05."""
    fields = {"density_mg_per_ml": 1050, "full_dose_ul_per_l": 50, **changes}
    return _item(showroom, "fertiliser", "volume", at, **fields)


def a_food(showroom: Showroom, *, at: datetime = AT, **changes: Any) -> Item:
    """A dry food that keeps 28 days when opened."""
    return _item(showroom, "food", "mass", at, **{"opened_life_days": 28, **changes})


def a_gas(showroom: Showroom, *, at: datetime = AT, **changes: Any) -> Item:
    """CO2 by mass."""
    return _item(showroom, "gas", "mass", at, **changes)


def a_bottle(
    item: Item,
    *,
    capacity: Quantity = HALF_A_LITRE,
    content: Quantity | None = None,
    tare: Mass | None = EMPTY_BOTTLE,
    at: datetime = AT,
    **more: Any,
) -> Container:
    """A container of that item, full unless a content is given, with its receipt."""
    lot = {key: more.pop(key) for key in ("expires_on", "supplier", "room") if key in more}
    new = NewContainer(
        kind=more.pop("kind", "bottle"), capacity=capacity, content=content, tare=tare, **more
    )
    return receive(item=item, containers=[new], by=an_owner(item.showroom), at=at, **lot)[0]


def a_tub(item: Item, *, capacity: Mass = A_TUB_FULL, at: datetime = AT, **more: Any) -> Container:
    """A full tub of food."""
    return a_bottle(item, kind="tub", capacity=capacity, tare=Mass.g(30), at=at, **more)


def a_cylinder(
    item: Item,
    *,
    tank: Tank | None = None,
    fill: Mass = HALF_A_KILO,
    at: datetime = AT,
    **more: Any,
) -> Container:
    """A full cylinder, connected to a tank where one is given."""
    number = next(_numbers)
    new = NewCylinder(**{"serial": f"SN{number:05}", "tare": Mass.g(1350), "fill": fill, **more})
    return add_cylinder(item=item, cylinder=new, tank=tank, by=an_owner(item.showroom), at=at)


def a_scale(showroom: Showroom, name: str = "", *, at: datetime = AT, **changes: Any) -> Scale:
    """A scale."""
    return add_scale(
        showroom=showroom,
        name=name or f"scale {next(_numbers)}",
        by=an_owner(showroom),
        at=at,
        **changes,
    )


def feeds(
    container: Container,
    *,
    purpose: str,
    tank: Tank | None = None,
    zone: str = "",
    at: datetime = AT,
) -> Supply:
    """Connect a container to a tank, or to the zone of that letter."""
    showroom = container.showroom
    return connect_supply(
        container=container,
        purpose=purpose,
        tank=tank,
        zone=a_zone(showroom, zone) if zone else None,
        by=an_owner(showroom),
        at=at,
    )


def a_plan(
    tank: Tank,
    item: Item,
    amount: Quantity,
    *,
    purpose: str = "dose",
    weekdays: str = "1111111",
    at: datetime = AT,
    **changes: Any,
) -> UsePlan:
    """A plan of so much a day, in force from that day on."""
    return set_plan(
        tank=tank,
        item=item,
        purpose=purpose,
        lines=[PlanLine(amount, weekdays=weekdays)],
        by=an_owner(tank.showroom),
        at=at,
        **{"from_on": at.date(), **changes},
    )


def _item(showroom: Showroom, kind: str, dimension: str, at: datetime, **changes: Any) -> Item:
    number = next(_numbers)
    fields = {"code": f"{kind}-{number}", "name": f"{kind} {number}", **changes}
    return add_item(
        showroom=showroom, kind=kind, dimension=dimension, by=an_owner(showroom), at=at, **fields
    )
