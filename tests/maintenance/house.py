"""A small gallery for the tests of this room, made through the services of real use."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta

from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.services.people import add_person, grant_skill, make_showroom
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import Item
from inventory.services.items import add_item
from inventory.services.plans import PlanLine, set_plan
from maintenance.services.templates import load_templates
from tanks.models import Layout, Position, Tank
from tanks.services.layouts import begin_layout
from tanks.services.placements import add_tank
from tanks.services.places import add_position, add_room, add_zone

FIRST_DAY = date(2026, 3, 9)
START = datetime(2026, 3, 9, 5, 0, tzinfo=UTC)


@dataclass
class House:
    """The showroom, who owns it, and its tanks by code."""

    showroom: Showroom
    owner: Membership
    fertiliser: Item
    food: Item
    tanks: dict[str, Tank] = field(default_factory=dict)
    layouts: dict[str, Layout] = field(default_factory=dict)
    positions: dict[str, Position] = field(default_factory=dict)


def a_house(
    code: str = "undershore", *, zone: str = "Europe/London", at: datetime = START
) -> House:
    """A showroom with owner, fertiliser, food and the templates of the catalogue; no tanks."""
    showroom = make_showroom(
        code=code, name="Undershore", zone=zone, currency="GBP", country="GB", at=at
    )
    owner = add_person(
        showroom=showroom, login=f"maud.{code}", name="Maud Ellerkamp", role="owner", by=None, at=at
    )
    fertiliser = add_item(
        showroom=showroom, code="fertiliser", name="complete fertiliser", kind="fertiliser",
        dimension="volume", by=owner, at=at,
    )  # fmt: skip
    food = add_item(
        showroom=showroom, code="food", name="dry food", kind="food", dimension="mass",
        by=owner, at=at,
    )  # fmt: skip
    load_templates(showroom=showroom, at=at)
    return House(showroom, owner, fertiliser, food)


def a_place(house: House, name: str, order: int, *, zone: str = "A") -> Position:
    """A place in the North Room."""
    if not house.positions:
        house_room = add_room(showroom=house.showroom, name="North Room", by=house.owner, at=START)
        house_zone = add_zone(showroom=house.showroom, code=zone, by=house.owner, at=START)
    else:
        known = next(iter(house.positions.values()))
        house_room, house_zone = known.room, known.zone
    position = add_position(
        room=house_room, zone=house_zone, name=name, walking_order=order, by=house.owner, at=START
    )
    house.positions[name] = position
    return position


def a_tank(
    house: House,
    code: str,
    *,
    stage: str = "show",
    at: datetime = START,
    flooded_on: date | None = date(2025, 9, 1),
    dose_ml: int = 3,
    food_mg: int = 60,
    food_days: str = "1111111",
    purpose: str = "display",
) -> Tank:
    """A 60 x 30 x 36 cm tank with a layout in this stage and plans; stage "" leaves it empty."""
    position = a_place(house, f"place of {code}", len(house.positions) + 1)
    tank = add_tank(
        showroom=house.showroom, code=code, length_mm=600, width_mm=300, height_mm=360, glass_mm=6,
        by=house.owner, at=at, position=position, purpose=purpose,
    )  # fmt: skip
    house.tanks[code] = tank
    if not stage:
        return tank
    house.layouts[code] = begin_layout(
        tank=tank, title=f"Layout {code}", by=house.owner, at=at, stage=stage, flooded_on=flooded_on
    )
    if dose_ml:
        set_plan(
            tank=tank, item=house.fertiliser, purpose="dose", from_on=at.date(), by=house.owner,
            at=at, lines=[PlanLine(Volume.ml(dose_ml))],
        )  # fmt: skip
    if food_mg:
        set_plan(
            tank=tank, item=house.food, purpose="food", from_on=at.date(), by=house.owner, at=at,
            lines=[PlanLine(Mass(food_mg), weekdays=food_days)],
        )  # fmt: skip
    return tank


def a_carer(house: House, name: str, *skills: str, role: str = "carer") -> Membership:
    """Somebody who works here and was signed off for these skills."""
    login = name.lower().replace(" ", ".") + "." + house.showroom.code
    member = add_person(
        showroom=house.showroom, login=login, name=name, role=role, by=house.owner, at=START
    )
    for skill in skills:
        grant_skill(
            membership=member, skill=skill, by=house.owner, at=START, signed_off_on=date(2026, 1, 5)
        )
    return member


def on(day: date, clock: str = "08:00") -> datetime:
    """An instant of that day by the clock of London in winter."""
    return datetime.combine(day, time.fromisoformat(clock), tzinfo=UTC)


def day(offset: int) -> date:
    """So many days after the first."""
    return FIRST_DAY + timedelta(days=offset)
