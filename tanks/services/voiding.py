"""What was entered by mistake counts as never written: rooms, zones, places, people credited.

The row stays, so that the trail can name it; unique names leave voided rows out.
"""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.work import want_work
from tanks.models import Designer, Layout, Position, Room, Zone


@transaction.atomic
def void_position(*, position: Position, by: Membership, at: datetime, reason: str) -> Position:
    """A place that was never one. Refused while a tank stands there."""
    require(by, "plan.change", in_=position.showroom)
    if position.placements.filter(voided_at=None).still().exists():
        raise Refused("place_taken", f"A tank stands at {position}.", remedy="Move it first.")
    _void(position, by, at, "position.voided", reason)
    return position


@transaction.atomic
def void_room(*, room: Room, by: Membership, at: datetime, reason: str) -> Room:
    """A room that was never one. Refused while it has places."""
    require(by, "plan.change", in_=room.showroom)
    if room.positions.filter(voided_at=None).exists():
        raise Refused("room_has_places", f"{room} has places.", remedy="Void its places first.")
    _void(room, by, at, "room.voided", reason)
    return room


@transaction.atomic
def void_zone(*, zone: Zone, by: Membership, at: datetime, reason: str) -> Zone:
    """A zone that was never one. Refused while it has places."""
    require(by, "plan.change", in_=zone.showroom)
    if zone.positions.filter(voided_at=None).exists():
        raise Refused("zone_has_places", f"Zone {zone} has places.", remedy="Void them first.")
    _void(zone, by, at, "zone.voided", reason)
    return zone


@transaction.atomic
def void_designer(*, designer: Designer, by: Membership, at: datetime, reason: str) -> Designer:
    """A credit that was never given. Refused while a layout names it."""
    require(by, "plan.change", in_=designer.showroom)
    if Layout.objects.filter(designer=designer, voided_at=None).exists():
        raise Refused("designer_named", f"A layout names {designer}.")
    _void(designer, by, at, "designer.voided", reason)
    return designer


@transaction.atomic
def void_layout(*, layout: Layout, by: Membership, at: datetime, reason: str) -> Layout:
    """A layout that never stood: the glass counts as vacant all along."""
    require(by, "plan.change", in_=layout.showroom)
    _void(layout, by, at, "layout.voided", reason)
    want_work(layout.showroom, "due_tasks", at=at)
    return layout


def _void(
    row: Position | Room | Zone | Designer | Layout,
    by: Membership,
    at: datetime,
    deed: str,
    reason: str,
) -> None:
    row.voided_at = at
    row.save(update_fields=["voided_at"])
    audit.record(by=by, at=at, deed=deed, subject=row, reason=reason)
