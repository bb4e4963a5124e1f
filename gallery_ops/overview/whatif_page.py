"""What if? What its page asks of the rooms; nothing is written."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.quantity import Mass
from gallery_ops.overview.cylinder_page import lets_go
from inventory.queries.cylinder_rooms import Standing, standing_cylinders
from inventory.queries.stock_page import axis_days
from inventory.queries.what_if import FOOD_AFTER_DAYS, Choices, WhatIf, what_if
from maintenance.queries.labour import Labour, MoreTanks, labour
from tanks.queries.rooms import RoomAir, rooms_air
from tanks.queries.tanks import TankNow, fleet

AXIS_DAYS = 56


@dataclass(frozen=True, slots=True)
class Size:
    """Outer sides of a glass [mm]."""

    length_mm: int
    width_mm: int
    height_mm: int

    @property
    def key(self) -> str:
        """As an address holds it."""
        return f"{self.length_mm}x{self.width_mm}x{self.height_mm}"


@dataclass(frozen=True, slots=True)
class RoomIfSo:
    """One room's number as it is and if so.

    ``now_ppm``, ``then_ppm`` : None where the room has no number or no cylinder. ``fill`` is of the
    cylinder that a new tank would bring, None where it brings none.
    """

    air: RoomAir
    now_ppm: int | None
    then_ppm: int | None
    then_step: int
    fill: Mass | None


@dataclass(frozen=True, slots=True)
class WhatIfPage:
    """Both answers, the sizes and rooms that stand here, and the days of the axis."""

    answer: WhatIf
    labour: Labour
    room: RoomIfSo | None
    rooms: tuple[RoomAir, ...]
    sizes: tuple[Size, ...]
    deliveries: tuple[date, ...]
    closures: tuple[date, ...]


def whatif_page(showroom: Showroom, at: datetime, choices: Choices, room: str = "") -> WhatIfPage:
    """``room`` : name for programs of the room in which new tanks would stand, or nothing.

    Raises Refused naming the field when a choice is out of range.
    """
    answer = what_if(showroom, at, choices)
    deliveries, closures = axis_days(showroom, answer.today, AXIS_DAYS)
    tanks, airs = list(fleet(showroom, at)), rooms_air(showroom)
    cylinders = standing_cylinders(showroom, at)
    return WhatIfPage(
        answer=answer,
        labour=_labour(showroom, at, choices),
        room=_room(airs, cylinders, _fill(cylinders, tanks, choices), room),
        rooms=tuple(airs),
        sizes=_sizes(tanks),
        deliveries=deliveries,
        closures=closures,
    )


def _labour(showroom: Showroom, at: datetime, choices: Choices) -> Labour:
    closed, more, new = None, None, choices.tanks
    if choices.closed_from is not None and choices.closed_to is not None:
        closed = choices.closed_from, choices.closed_to
    if new is not None:
        fed_from = new.from_on + timedelta(days=FOOD_AFTER_DAYS)
        more = MoreTanks(new.count, new.outer_l, new.from_on, fed_from)
    return labour(showroom, at, closed=closed, more=more)


def _room(
    airs: list[RoomAir], cylinders: list[Standing], brings: Mass | None, wanted: str
) -> RoomIfSo | None:
    """The room that was chosen, else the one with the highest number."""
    biggest: dict[int, Mass] = {}
    for one in cylinders:
        if one.room_id is not None:
            known = biggest.get(one.room_id)
            biggest[one.room_id] = max(known, one.fill) if known else one.fill
    if wanted:
        air = next((one for one in airs if str(one.room.uid) == wanted), None)
        if air is None:
            raise Refused(
                "no_room",
                "One more tank: no such room.",
                {"room": "Choose one from the list."},
                "Change the choice; nothing is saved.",
            )
        return _numbers(air, biggest.get(air.room.pk), brings)
    found = [
        _numbers(one, biggest[one.room.pk], None)
        for one in airs
        if one.has_number and one.room.pk in biggest
    ]
    return max(found, key=lambda one: one.now_ppm or 0) if found else None


def _numbers(air: RoomAir, biggest: Mass | None, brings: Mass | None) -> RoomIfSo:
    fills = [fill for fill in (biggest, brings) if fill is not None]
    if not air.has_number or not fills:
        return RoomIfSo(air, None, None, 0, brings)
    then_ppm, step = lets_go(air, max(fills))
    now_ppm = lets_go(air, biggest)[0] if biggest is not None else None
    return RoomIfSo(air, now_ppm, then_ppm, step, brings)


def _fill(cylinders: list[Standing], tanks: list[TankNow], choices: Choices) -> Mass | None:
    """What feeds the tank here that is nearest in size; of several, the largest."""
    new = choices.tanks
    if new is None:
        return None
    size = {row.tank.pk: row.volumes.outer_l for row in tanks}
    found = [
        (abs(size[tank_id] - new.outer_l), -one.fill.mg)
        for one in cylinders
        for tank_id in one.tank_ids
        if tank_id in size
    ]
    return Mass(-min(found)[1]) if found else None


def _sizes(tanks: list[TankNow]) -> tuple[Size, ...]:
    """Sizes of the glasses that stand here, the smallest first."""
    found = {Size(now.tank.length_mm, now.tank.width_mm, now.tank.height_mm) for now in tanks}
    return tuple(sorted(found, key=lambda one: one.length_mm * one.width_mm * one.height_mm))
