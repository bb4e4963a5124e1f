"""One more tank: what it asks of people, air, floor, circuit and store. Nothing is written."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.money import Money
from gallery_ops.overview.cylinder_page import lets_go
from inventory.queries.cylinder_rooms import Standing, standing_cylinders
from inventory.queries.figures import dosed_items, full_dose_ml, use_figures
from inventory.queries.what_if import FOOD_AFTER_DAYS
from maintenance.queries.labour import MoreTanks, labour
from tanks.models import Equipment
from tanks.queries.rooms import RoomAir, rooms_air
from tanks.queries.show_days import builds_of
from tanks.queries.tanks import TankNow, fleet
from tanks.science import one_more
from tanks.science.filling import Glass
from tanks.science.geometry import volumes
from tanks.science.materials import base_cm2
from tanks.science.one_more import Line, Verdict, WeekMinutes

BEGINS_IN = timedelta(days=14)
"""It is taken to be flooded two weeks from today."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What was typed. ``room``: name for programs; ``breaker_a`` None when nobody read it."""

    glass: Glass
    has_co2: bool
    room: str
    stand_kg: float
    power_w: float
    light_h: float
    circuit: str
    breaker_a: float | None


@dataclass(frozen=True, slots=True)
class Sheet:
    """The answer line by line. ``cost``: None where no build here has a full list."""

    verdict: Verdict
    lines: list[Line]
    outer_l: float
    working_l: float
    cost: Money | None
    cost_of: int


def places(showroom: Showroom) -> tuple[list[tuple[str, str]], list[str]]:
    """Rooms by name for programs, and the circuits that are written down."""
    rooms = [(str(one.room.uid), one.room.name) for one in rooms_air(showroom)]
    return rooms, sorted(_circuits(showroom))


def add_sheet(showroom: Showroom, wish: Wish, at: datetime) -> Sheet:
    """Would it fit? The same number of queries for 20 tanks as for 2,000.

    Raises
    ------
    Refused
        ``no_room`` for a room that is none of this gallery.
    OutOfRange
        for a size that cannot be.
    """
    size = volumes(
        round(wish.glass.length_mm),
        round(wish.glass.width_mm),
        round(wish.glass.height_mm),
        round(wish.glass.glass_mm),
    )
    tanks = fleet(showroom, at)
    lines = [
        _labour(showroom, size.outer_l, at),
        _air(showroom, wish, tanks, size.outer_l, at),
        one_more.floor_line(wish.glass, wish.stand_kg),
        one_more.circuit_line(
            wish.power_w,
            wish.light_h,
            wish.circuit,
            _circuits(showroom).get(wish.circuit, 0.0),
            wish.breaker_a,
        ),
        _year(showroom, wish, tanks, at),
    ]
    cost, of = _first_cost(showroom, wish.glass, tanks)
    return Sheet(one_more.verdict(lines), lines, size.outer_l, size.working_l, cost, of)


def _labour(showroom: Showroom, outer_l: float, at: datetime) -> Line:
    begins = business_day(at, showroom.tz, showroom.cut_off_hour) + BEGINS_IN
    fed = begins + timedelta(days=FOOD_AFTER_DAYS)
    found = labour(showroom, at, more=MoreTanks(1, outer_l, begins, fed))
    weeks = [
        WeekMinutes(week.number, float(week.now), float(week.then), week.on_rota)
        for week in found.weeks
    ]
    return one_more.labour_line(weeks, float(found.start_up or 0), float(found.grown or 0))


def _air(
    showroom: Showroom, wish: Wish, tanks: list[TankNow], outer_l: float, at: datetime
) -> Line:
    air = _room(showroom, wish.room)
    name = air.room.name if air else ""
    if not wish.has_co2 or air is None or not air.has_number:
        return one_more.air_line(wish.has_co2, None, 0, name)
    cylinders = standing_cylinders(showroom, at)
    fills = [one.fill for one in cylinders if one.room_id == air.room.pk]
    nearest = _nearest(cylinders, tanks, outer_l)
    if nearest is not None:
        fills.append(nearest.fill)
    if not fills:
        return one_more.air_line(True, None, 0, name)
    ppm, step = lets_go(air, max(fills))
    return one_more.air_line(True, ppm, step, name)


def _room(showroom: Showroom, wanted: str) -> RoomAir | None:
    if not wanted:
        return None
    found = next((one for one in rooms_air(showroom) if str(one.room.uid) == wanted), None)
    if found is None:
        raise Refused("no_room", _("No such room."), {"room": _("Choose one from the list.")})
    return found


def _nearest(cylinders: list[Standing], tanks: list[TankNow], outer_l: float) -> Standing | None:
    """What feeds the tank here that is nearest in size: such a one would come with it."""
    size = {row.tank.pk: row.volumes.outer_l for row in tanks}
    found = [
        (abs(size[tank_id] - outer_l), -one.fill.mg, n)
        for n, one in enumerate(cylinders)
        for tank_id in one.tank_ids
        if tank_id in size
    ]
    return cylinders[min(found)[2]] if found else None


def _circuits(showroom: Showroom) -> dict[str, float]:
    """Circuit -> power of what is written down on it [W]; one query."""
    found: dict[str, float] = defaultdict(float)
    rows = Equipment.objects.of(showroom).still().exclude(circuit="")
    for circuit, figures in rows.values_list("circuit", "figures"):
        power = figures.get("power_w", 0) if isinstance(figures, dict) else 0
        found[circuit] += float(power) if isinstance(power, int | float) else 0.0
    return dict(found)


def _year(showroom: Showroom, wish: Wish, tanks: list[TankNow], at: datetime) -> Line:
    used = use_figures(showroom, at)
    gassed_l = sum(t.volumes.outer_l for t in tanks if t.layout and t.layout.has_co2)
    planted_l = sum(t.volumes.outer_l for t in tanks if t.layout)
    glass = wish.glass
    mm3 = round(glass.length_mm) * round(glass.width_mm) * round(glass.height_mm)
    gives_gas = wish.has_co2 and gassed_l and used.co2_g_per_day
    return one_more.year_line(
        glass,
        full_dose_ml(dosed_items(showroom), [mm3]),
        used.co2_g_per_day / gassed_l if gives_gas else None,
        used.food_g_per_week / planted_l if planted_l and used.food_g_per_week else None,
    )


def _first_cost(showroom: Showroom, glass: Glass, tanks: list[TankNow]) -> tuple[Money | None, int]:
    """By the area of the ground, as the middle of the builds here whose every line has a price."""
    layouts = [row.layout for row in tanks if row.layout is not None]
    by_tank = {row.tank.pk: row.tank for row in tanks}
    for layout in layouts:
        layout.tank = by_tank[layout.tank_id]
    rates = []
    for key, build in builds_of(showroom, layouts).items():
        if build.cost.unpriced or not build.cost.total:
            continue
        tank = next(row.tank for row in layouts if row.pk == key)
        own = Glass(tank.length_mm, tank.width_mm, tank.height_mm, tank.glass_mm)
        rates.append(build.cost.total / base_cm2(own))
    if not rates:
        return None, 0
    return Money(round(median(rates) * base_cm2(glass)), showroom.currency), len(rates)
