"""Rooms, zones, positions: where tanks can stand."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.checking import write_new
from gallery_ops.kernel.services.work import want_work
from tanks.models import Position, Room, Zone


@transaction.atomic
def add_room(
    *,
    showroom: Showroom,
    name: str,
    by: Membership,
    at: datetime,
    volume_m3: int | None = None,
    has_gas_alarm: bool | None = None,
    walking_order: int = 0,
) -> Room:
    """A room of the gallery; its air volume [m3] only if somebody measured it."""
    require(by, "plan.change", in_=showroom)
    room = Room(
        showroom=showroom,
        name=name.strip(),
        volume_m3=volume_m3,
        has_gas_alarm=has_gas_alarm,
        walking_order=walking_order,
    )
    write_new(room)
    audit.record(by=by, at=at, deed="room.added", subject=room, after={"name": room.name})
    return room


@transaction.atomic
def add_zone(
    *, showroom: Showroom, code: str, by: Membership, at: datetime, walking_order: int = 0
) -> Zone:
    """A part of the walk that one carer does."""
    require(by, "plan.change", in_=showroom)
    zone = Zone(showroom=showroom, code=code.strip(), walking_order=walking_order)
    write_new(zone)
    audit.record(by=by, at=at, deed="zone.added", subject=zone, after={"code": zone.code})
    return zone


@transaction.atomic
def add_position(
    *,
    room: Room,
    zone: Zone,
    name: str,
    walking_order: int,
    by: Membership,
    at: datetime,
    circuit: str = "",
    viewing_sides: int = 1,
) -> Position:
    """A place for one tank, and when it is passed on the walk."""
    require(by, "plan.change", in_=room.showroom)
    position = Position(
        showroom=room.showroom,
        room=room,
        zone=zone,
        name=name.strip(),
        walking_order=walking_order,
        circuit=circuit,
        viewing_sides=viewing_sides,
    )
    write_new(position)
    audit.record(by=by, at=at, deed="position.added", subject=position, after={"name": name})
    return position


@transaction.atomic
def change_position(
    *, position: Position, by: Membership, at: datetime, **changes: Any
) -> Position:
    """Put right what was noted of a place: its zone, its walking order, its name, its sides."""
    require(by, "plan.change", in_=position.showroom)
    strange = set(changes) - {"zone", "walking_order", "name", "circuit", "viewing_sides"}
    if strange:
        raise Refused("unknown_field", f"A place has no {', '.join(sorted(strange))}.")
    zone = changes.get("zone")
    if zone is not None and zone.showroom_id != position.showroom_id:
        raise Unknown("zone")
    position = Position.objects.select_for_update().get(pk=position.pk)
    before = {key: str(getattr(position, key)) for key in changes}
    for key, value in changes.items():
        setattr(position, key, value)
    position.full_clean()
    position.save(update_fields=list(changes))
    after = {key: str(value) for key, value in changes.items()}
    if before != after:
        audit.record(
            by=by, at=at, deed="position.changed", subject=position, before=before, after=after
        )
        want_work(position.showroom, "due_tasks", at=at)
    return position
