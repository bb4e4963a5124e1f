"""Which rooms, zones, places and credited people does a showroom have?"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from gallery_ops.kernel.models import Showroom
from tanks.models import (
    Designer,
    Layout,
    Placement,
    Position,
    Reading,
    Room,
    StageChange,
    Tank,
    TankCode,
    Zone,
)


def rooms(showroom: Showroom) -> list[Room]:
    """Rooms in walking order."""
    rows = Room.objects.of(showroom).filter(voided_at=None, retired_at=None)
    return list(rows.order_by("walking_order", "name"))


def zones(showroom: Showroom) -> list[Zone]:
    """Zones in walking order."""
    return list(Zone.objects.of(showroom).filter(voided_at=None).order_by("walking_order", "code"))


def positions(showroom: Showroom) -> list[Position]:
    """Places with room and zone, in walking order."""
    rows = Position.objects.of(showroom).filter(voided_at=None).select_related("room", "zone")
    return list(rows.order_by("room__walking_order", "walking_order", "name"))


def free_positions(showroom: Showroom) -> list[Position]:
    """Places where no tank stands, with room and zone, in walking order; two queries."""
    taken = Placement.objects.of(showroom).still().filter(voided_at=None)
    keys = set(taken.values_list("position_id", flat=True))
    return [place for place in positions(showroom) if place.pk not in keys]


def designers(showroom: Showroom) -> list[Designer]:
    """People who are credited, by name."""
    return list(Designer.objects.of(showroom).filter(voided_at=None).order_by("name"))


def former_codes(showroom: Showroom) -> dict[str, str]:
    """Old code in capitals -> the code that its tank has now; codes in use again are left out."""
    rows = list(
        TankCode.objects.of(showroom)
        .filter(voided_at=None)
        .values_list("tank_id", "code", "to_at")
        .order_by("from_at")
    )
    now = {tank_id: code for tank_id, code, to_at in rows if to_at is None}
    in_use = {code.upper() for code in now.values()}
    return {
        code.upper(): now[tank_id]
        for tank_id, code, to_at in rows
        if to_at is not None and tank_id in now and code.upper() not in in_use
    }


def written_since(showroom: Showroom, tanks: Iterable[Tank], since: datetime) -> dict[int, str]:
    """Tank id -> what was written on it after ``since``: a reading or a change of stage."""
    ids = [tank.pk for tank in tanks]
    found = dict.fromkeys(
        StageChange.objects.of(showroom)
        .filter(layout__tank__in=ids, entered_at__gt=since)
        .values_list("layout__tank_id", flat=True),
        "a change of stage",
    )
    readings = Reading.objects.of(showroom).filter(tank__in=ids, entered_at__gt=since)
    found.update(dict.fromkeys(readings.values_list("tank_id", flat=True), "a reading"))
    return found


def rows_by_id(showroom: Showroom, kind: str, ids: Iterable[int]) -> list[Any]:
    """The rooms, zones, places, designers, layouts or tanks of these keys that are not voided."""
    model = {
        "room": Room,
        "zone": Zone,
        "position": Position,
        "designer": Designer,
        "layout": Layout,
        "tank": Tank,
    }[kind]
    return list(model.objects.of(showroom).filter(pk__in=list(ids), voided_at=None).order_by("pk"))


def is_taken(position: Position) -> bool:
    """Does a tank stand at this place?"""
    return bool(position.placements.filter(voided_at=None).still().exists())
