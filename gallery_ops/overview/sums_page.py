"""What a sum may take over from a tank or a room: with its age, and only when somebody asks."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from uuid import UUID

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.overview.cylinder_page import room_gas
from tanks.queries.readings import Ranges, all_ranges, latest_readings
from tanks.queries.rooms import rooms_air
from tanks.queries.tanks import fleet, tank_by_code


@dataclass(frozen=True, slots=True)
class Known:
    """One value with where it comes from: read at that moment, or measured on that day."""

    value: float
    read_at: datetime | None = None
    by: str = ""
    on: date | None = None


@dataclass(frozen=True, slots=True)
class Source:
    """A tank or a room whose values may be taken over."""

    key: str
    name: str
    known: dict[str, Known] = field(default_factory=dict)
    ranges: dict[str, Ranges] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Choice:
    """One that may be chosen."""

    key: str
    name: str


VOLUME = "volume"
ROOM = "air"
GAS = "gas"


def tank_choices(showroom: Showroom, at: datetime) -> list[Choice]:
    """Every tank that stands, in walking order; as many queries for twenty as for two hundred."""
    return [Choice(now.code, f"{now.code} {now.title}".strip()) for now in fleet(showroom, at)]


def tank_source(showroom: Showroom, at: datetime, code: str) -> Source:
    """Last readings of a tank, its working volume and its ranges. Raises Unknown."""
    now = tank_by_code(showroom, code, at)
    known = {VOLUME: Known(now.volumes.working_l)}
    for (_, key), reading in latest_readings(showroom, [now.tank.pk]).items():
        if reading.value is not None and reading.qualifier == "=":
            by = reading.person.name if reading.person else ""
            known[key] = Known(float(reading.value), reading.done_at_corrected, by)
    style = now.layout.style if now.layout else ""
    return Source(now.code, now.code, known, _ranges(showroom, now.tank.pk, style))


def room_choices(showroom: Showroom) -> list[Choice]:
    """Every room, in walking order."""
    return [Choice(str(air.room.uid), air.room.name) for air in rooms_air(showroom)]


def room_source(showroom: Showroom, at: datetime, uid: str) -> Source:
    """Measured volume of a room, and the fill of the largest cylinder in it. Raises Unknown."""
    try:
        gas = room_gas(showroom, UUID(uid), at)
    except ValueError:
        raise Unknown("room") from None
    known = {}
    if gas.air.room.volume_m3:
        room = gas.air.room
        known[ROOM] = Known(
            float(gas.air.room.volume_m3),
            by=room.volume_measured_by,
            on=room.volume_measured_on,
        )
    if gas.each:
        known[GAS] = Known(gas.each[0][0].row.fill.mg / 1_000_000)
    return Source(uid, gas.air.room.name, known)


def house_ranges(showroom: Showroom) -> dict[str, Ranges]:
    """The ranges that hold where no tank was chosen."""
    return _ranges(showroom, 0, "")


def _ranges(showroom: Showroom, tank_id: int, style: str) -> dict[str, Ranges]:
    found = all_ranges(showroom, {tank_id: style})
    return {key: ranges for (_, key), (_, ranges) in found.items()}
