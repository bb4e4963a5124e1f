"""An import under way: what it stands on, what it has made, and what it finds or makes by name."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext as _

from gallery_ops.fleet_file.plan import RowPlan, place_names
from gallery_ops.fleet_file.standing import KIND_OF, Standing
from gallery_ops.kernel.models import Membership, Showroom
from inventory.models import Item
from inventory.services import items as item_services
from tanks.models import Designer, Layout, Position, Room, Tank, Zone
from tanks.services import layouts, places


@dataclass
class Bringing:
    """One import under way: what it stands on, what it has made."""

    showroom: Showroom
    now: Standing
    by: Membership
    at: datetime
    reason: str
    made: dict[str, list[Any]] = field(default_factory=dict)
    next_order: int = 0
    full_dose_ul_per_l: int | None = None
    """What the list says of the fertiliser, should it be new."""

    def note(self, kind: str, entry: Any) -> None:
        self.made.setdefault(kind, []).append(entry)


def before_after(thing: Tank | Layout | Position, values: dict[str, Any]) -> dict[str, Any]:
    """What a change replaces, as plain values: rows by their key."""
    before = {name: plain_value(getattr(thing, name)) for name in values}
    return {
        "id": thing.pk,
        "before": before,
        "after": {name: plain_value(value) for name, value in values.items()},
    }


def plain_value(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    return value.pk if hasattr(value, "pk") else value


def position_of(bringing: Bringing, plan: RowPlan) -> Position:
    row, now = plan.row, bringing.now
    room_name, place_name = place_names(row, plan.tank, now)
    room = _room(bringing, room_name)
    known = now.positions.get((room.pk, place_name.casefold()))
    if known is not None:
        return known
    standing_at = plan.tank.position if plan.tank is not None else None
    zone_code = row.zone or (standing_at.zone.code if standing_at else _usual_zone(now))
    position = places.add_position(
        room=room,
        zone=zone_of(bringing, zone_code),
        name=place_name,
        walking_order=row.order or bringing.next_order,
        by=bringing.by,
        at=bringing.at,
    )
    bringing.next_order = max(bringing.next_order, position.walking_order) + 1
    now.positions[(room.pk, place_name.casefold())] = position
    bringing.note("position", position.pk)
    return position


def _usual_zone(now: Standing) -> str:
    first = next(iter(now.zones.values()), None)
    return first.code if first is not None else "A"


def _room(bringing: Bringing, name: str) -> Room:
    known = bringing.now.rooms.get(name.casefold())
    if known is not None:
        return known
    orders = [room.walking_order for room in bringing.now.rooms.values()]
    room = places.add_room(
        showroom=bringing.showroom,
        name=name[:80],
        walking_order=max(orders, default=0) + 1,
        by=bringing.by,
        at=bringing.at,
    )
    bringing.now.rooms[name.casefold()] = room
    bringing.note("room", room.pk)
    return room


def zone_of(bringing: Bringing, code: str) -> Zone:
    known = bringing.now.zones.get(code.casefold())
    if known is not None:
        return known
    orders = [zone.walking_order for zone in bringing.now.zones.values()]
    zone = places.add_zone(
        showroom=bringing.showroom,
        code=code,
        walking_order=max(orders, default=0) + 1,
        by=bringing.by,
        at=bringing.at,
    )
    bringing.now.zones[code.casefold()] = zone
    bringing.note("zone", zone.pk)
    return zone


def designer_of(bringing: Bringing, name: str | None) -> Designer | None:
    if not name:
        return None
    known = bringing.now.designers.get(name.casefold())
    if known is not None:
        return known
    designer = layouts.add_designer(
        showroom=bringing.showroom, name=name, by=bringing.by, at=bringing.at
    )
    bringing.now.designers[name.casefold()] = designer
    bringing.note("designer", designer.pk)
    return designer


def item_of(bringing: Bringing, plan: RowPlan, purpose: str) -> Item:
    known = bringing.now.item_for(plan.tank, purpose)
    if known is not None:
        return known
    names = {"dose": _("Fertiliser"), "gas": "CO2", "food": _("Food")}
    item: Item = item_services.add_item(
        showroom=bringing.showroom,
        code=KIND_OF[purpose],
        name=names[purpose],
        kind=KIND_OF[purpose],
        dimension="volume" if purpose == "dose" else "mass",
        full_dose_ul_per_l=bringing.full_dose_ul_per_l if purpose == "dose" else None,
        by=bringing.by,
        at=bringing.at,
    )
    bringing.now.items[purpose] = [item]
    bringing.note("item", item.pk)
    return item
