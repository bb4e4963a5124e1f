"""The gallery itself: its people, rooms, tanks, and the layouts in them, as they came to be."""

from __future__ import annotations

import csv
import tomllib
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.services.people import add_person, ensure_epoch, grant_skill, make_showroom
from gallery_ops.kernel.services.pins import set_pin
from gallery_ops.kernel.values.day import instant
from inventory.models import Supplier
from inventory.services import livestock
from maintenance.services.templates import load_templates
from tanks.models import Layout, Position, Room, Species, Tank, Zone
from tanks.services.catalogue import load_parameters, load_species
from tanks.services.equipment import put_on
from tanks.services.layouts import (
    add_brief,
    add_designer,
    add_hardscape,
    add_plant_group,
    add_substrate_layer,
    begin_layout,
    close_layout,
)
from tanks.services.placements import add_tank
from tanks.services.places import add_position, add_room, add_zone
from tanks.services.publishing import give_public_code, publish_layout
from tanks.services.stages import advance_stage

FOLDER = Path(__file__).resolve().parent
FOUNDED_DAYS_AGO = 800
MORNING = time(6)
STAGE = {"startup_w1": "start_up", "startup_w2": "start_up", "show_no_co2": "show"}
"""Stages of ``fleet.csv`` that are called otherwise in the life of a layout; 'empty' has none."""

ANIMALS_FROM_DAY = 30


@dataclass(slots=True)
class House:
    """What was made, for the days that follow."""

    showroom: Showroom
    on: date
    people: dict[str, Membership] = field(default_factory=dict)
    works: dict[str, dict[str, Any]] = field(default_factory=dict)
    zones: dict[str, Zone] = field(default_factory=dict)
    rooms: dict[str, Room] = field(default_factory=dict)
    tanks: dict[str, Tank] = field(default_factory=dict)
    zone_of: dict[str, str] = field(default_factory=dict)
    layouts: dict[str, Layout] = field(default_factory=dict)
    before: dict[str, tuple[Layout, date]] = field(default_factory=dict)
    fleet: dict[str, dict[str, str]] = field(default_factory=dict)
    day_of: dict[str, int] = field(default_factory=dict)
    _codes: dict[int, str] = field(default_factory=dict)

    def code_of(self, tank_id: int) -> str:
        """The code of a tank by its key."""
        if not self._codes:
            self._codes.update({tank.pk: code for code, tank in self.tanks.items()})
        return self._codes[tank_id]

    def at(self, days_ago: int, clock: time = MORNING) -> datetime:
        """A moment on the day so many days before the day of the demo."""
        return instant(self.on - timedelta(days=days_ago), clock, self.showroom.tz)


def gallery() -> dict[str, Any]:
    """The description of the gallery."""
    return tomllib.loads((FOLDER / "gallery.toml").read_text("utf-8"))


def fleet_rows() -> dict[str, dict[str, str]]:
    """Sizes, doses, gas and food by tank code."""
    with (FOLDER / "fleet.csv").open(encoding="utf-8", newline="") as file:
        return {row["code"]: row for row in csv.DictReader(file)}


def build(on: date) -> House:
    """Showroom, people, rooms, glass and layouts, each at the moment when it came to be."""
    data = gallery()
    load_parameters()
    load_species()
    said = data["showroom"]
    started = instant(on - timedelta(days=FOUNDED_DAYS_AGO), MORNING, said["zone"])
    ensure_epoch(at=started)
    showroom = make_showroom(
        **said, telephones=data["telephone"], round_from_at=time(7), at=started
    )
    house = House(showroom, on, fleet=fleet_rows())
    _people(house, data, started)
    boss = house.people["maud"]
    load_templates(showroom=showroom, at=house.at(120))
    designers = {
        row["name"]: add_designer(showroom=showroom, name=row["name"], by=boss, at=started)
        for row in data["designer"]
    }
    _places(house, data, started)
    for row in data["before"]:
        _before(house, row, designers)
    for row in data["tank"]:
        _layout(house, row, designers)
    vacant = data["vacant"]
    add_brief(
        tank=house.tanks[vacant["code"]],
        by=boss,
        at=house.at(4),
        **{**vacant["brief"], "designer": designers[vacant["brief"]["designer"]]},
        target_show_on=on + timedelta(days=75),
    )
    return house


def _people(house: House, data: dict[str, Any], at: datetime) -> None:
    for row in data["person"]:
        owner = house.people.get("maud")
        member = add_person(
            showroom=house.showroom,
            login=row["login"],
            name=row["name"],
            role=row["role"],
            by=owner,
            at=at,
        )
        house.people[row["login"]] = member
        boss = house.people["maud"]
        set_pin(membership=member, pin=row["pin"], by=boss, at=at)
        for skill in row["skills"]:
            grant_skill(
                membership=member,
                skill=skill,
                by=boss,
                at=at,
                signed_off_on=house.on - timedelta(days=200),
                expires_on=house.on + timedelta(days=500),
            )
        if "works" in row:
            house.works[row["login"]] = row["works"]


def _places(house: House, data: dict[str, Any], at: datetime) -> None:
    boss = house.people["maud"]
    for order, row in enumerate(data["room"], 1):
        house.rooms[row["name"]] = add_room(
            showroom=house.showroom, by=boss, at=at, walking_order=order, **row
        )
    for order, code in enumerate("AB", 1):
        house.zones[code] = add_zone(
            showroom=house.showroom, code=code, by=boss, at=at, walking_order=order
        )
    for row in [*data["tank"], data["vacant"]]:
        code = row["code"]
        place = _position(house, row, at)
        length, width, height = (int(n) * 10 for n in house.fleet[code]["dims_cm"].split("x"))
        house.tanks[code] = add_tank(
            showroom=house.showroom,
            code=code,
            length_mm=length,
            width_mm=width,
            height_mm=height,
            glass_mm=int(house.fleet[code]["glass_mm"]),
            position=place,
            acquired_on=house.on - timedelta(days=FOUNDED_DAYS_AGO),
            by=boss,
            at=at,
        )
        house.zone_of[code] = row["zone"]
        give_public_code(tank=house.tanks[code], by=boss, at=at)


def _position(house: House, row: dict[str, Any], at: datetime) -> Position:
    return add_position(
        room=house.rooms[row["room"]],
        zone=house.zones[row["zone"]],
        name=f"place {row['place']}",
        walking_order=row["place"],
        by=house.people["maud"],
        at=at,
    )


def _before(house: House, row: dict[str, Any], designers: dict[str, Any]) -> None:
    boss = house.people["maud"]
    layout = begin_layout(
        tank=house.tanks[row["code"]],
        title=row["title"],
        designer=designers[row["designer"]],
        style=row["style"],
        stage="show",
        flooded_on=house.on - timedelta(days=row["flooded_day"]),
        by=boss,
        at=house.at(row["flooded_day"]),
    )
    closed_at = house.at(row["closed_day"], time(9))
    close_layout(layout=layout, by=boss, at=closed_at, lessons="Trim the back stems in time.")
    house.before[row["code"]] = (layout, house.on - timedelta(days=row["closed_day"]))


def _layout(house: House, row: dict[str, Any], designers: dict[str, Any]) -> None:
    code, day, boss = row["code"], row["day"], house.people["maud"]
    listed = house.fleet[code]["stage"]
    stage = STAGE.get(listed, listed)
    at = house.at(day)
    layout = begin_layout(
        tank=house.tanks[code],
        title=row["title"],
        designer=designers[row["designer"]],
        style=row["style"],
        profile=row["profile"],
        has_co2=float(house.fleet[code]["co2_g_day"]) > 0,
        stage="start_up",
        flooded_on=house.on - timedelta(days=day),
        difficulty=row["difficulty"],
        story=row["story"],
        went_wrong=row.get("went_wrong", ""),
        by=boss,
        at=at,
    )
    _materials(house, layout, row, at)
    _equipment(house, code, layout, at)
    for to, since in (("grow_in", 42), ("show", 90), ("decline", 560)):
        if layout.stage != stage and day > since:
            advance_stage(layout=layout, to=to, by=boss, at=house.at(day - since))
            layout.refresh_from_db()
    publish_layout(
        layout=layout, by=boss, at=at, approved_on=house.on - timedelta(days=max(day - 1, 0))
    )
    layout.refresh_from_db()
    house.layouts[code], house.day_of[code] = layout, day


def _materials(house: House, layout: Layout, row: dict[str, Any], at: datetime) -> None:
    boss = house.people["maud"]
    for piece in row["hardscape"]:
        add_hardscape(
            layout=layout,
            kind=piece["kind"],
            name=piece["name"],
            centre_permille=piece["centre"],
            length_mm=piece["length_mm"],
            height_mm=piece["height_mm"],
            mass_in_mg=int(float(piece["kg"]) * 1_000_000),
            by=boss,
            at=at,
        )
    for number, group in enumerate(row["groups"], 1):
        add_plant_group(
            layout=layout,
            species=[Species.objects.get(scientific_name=name) for name in group["species"]],
            number=number,
            place=group["place"],
            centre_permille=group["centre"],
            spread_permille=group["spread"],
            height_mm=group["height_mm"],
            planted_count=group["count"],
            planted_as=group["planted_as"],
            fixing=group["fixing"],
            leaf_colour=group["colour"],
            provenance="Loam & Lantern nursery",
            by=boss,
            at=at,
        )
    back = 80 if layout.tank.height_mm <= 360 else 120
    for order, (material, front_mm, back_mm) in enumerate(
        (("coarse volcanic gravel in bags", 5, back // 2), ("soil, rich", 30, back // 2)), 1
    ):
        add_substrate_layer(
            layout=layout,
            order=order,
            material=material,
            front_mm=front_mm,
            back_mm=back_mm,
            by=boss,
            at=at,
        )


def _equipment(house: House, code: str, layout: Layout, at: datetime) -> None:
    boss, tank = house.people["maud"], house.tanks[code]
    litres = float(house.fleet[code]["nominal_l"])
    hours = 8.0 if layout.has_co2 else 7.0
    watts = round(litres * 0.55)
    for kind, name, figures in (
        ("light", "pendant, warm white", {"power_w": watts, "hours_per_day": hours}),
        ("filter", "canister filter", {"flow_l_per_h": round(litres * 7, -1)}),
        ("heater", "heater in the filter line", {"power_w": round(litres * 0.8)}),
    ):
        put_on(tank=tank, kind=kind, name=name, figures=figures, by=boss, at=at)


def stock_animals(house: House, supplier: Supplier) -> None:
    """Animals arrive when their tank is ready for them."""
    for row in gallery()["tank"]:
        arrived = house.day_of[row["code"]] - ANIMALS_FROM_DAY
        for animal in row["animals"]:
            at = house.at(max(arrived, 1), time(11))
            livestock.arrive(
                tank=house.tanks[row["code"]],
                species=Species.objects.get(scientific_name=animal["species"]),
                count=animal["count"],
                supplier=supplier,
                by=house.people["odile"],
                at=at,
            )
