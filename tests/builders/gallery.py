"""A gallery for a test: showroom, people, rooms, tanks, made by the services of the house."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import count
from typing import Any

from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.services.people import add_person
from tanks.models import Position, Room, Tank, Zone
from tanks.services.layouts import begin_layout
from tanks.services.placements import add_tank
from tanks.services.places import add_position, add_room, add_zone
from tests.builders import people

AT = datetime(2026, 3, 12, 8, 0, tzinfo=UTC)
"""The morning that tests speak of, a Thursday; London shows the same hour."""
SIZE_MM = (600, 300, 360, 6)
_numbers = count(1)


def a_showroom(*, at: datetime = AT, **changes: Any) -> Showroom:
    """An empty gallery in London with the cut-off at 04:00."""
    number = next(_numbers)
    return people.a_showroom(f"gallery-{number}", at=at, **changes)


def a_person(
    role: str = "carer", *, showroom: Showroom | None = None, at: datetime = AT, **changes: Any
) -> Membership:
    """Somebody who works there; the first of a gallery brings its owner along."""
    showroom = showroom or a_showroom(at=at)
    owner = Membership.objects.filter(showroom=showroom, role="owner").first()
    if owner is None:
        owner = _person(showroom, "owner", None, at, **(changes if role == "owner" else {}))
        if role == "owner":
            return owner
    return _person(showroom, role, owner, at, **changes)


def an_owner(showroom: Showroom, *, at: datetime = AT) -> Membership:
    """The owner of this gallery, made if it has none."""
    found = Membership.objects.filter(showroom=showroom, role="owner").first()
    return found or a_person("owner", showroom=showroom, at=at)


def a_zone(showroom: Showroom, code: str = "A", *, at: datetime = AT) -> Zone:
    """A zone of the walk, the one of that letter if it is there."""
    found = Zone.objects.of(showroom).filter(code=code).first()
    return found or add_zone(showroom=showroom, code=code, by=an_owner(showroom), at=at)


def a_room(showroom: Showroom, name: str = "Hall", *, at: datetime = AT, **changes: Any) -> Room:
    """A room, the one of that name if it is there."""
    found = Room.objects.of(showroom).filter(name=name).first()
    return found or add_room(showroom=showroom, name=name, by=an_owner(showroom), at=at, **changes)


def a_place(
    showroom: Showroom,
    name: str = "",
    *,
    room: str = "Hall",
    zone: str = "A",
    walking_order: int | None = None,
    at: datetime = AT,
) -> Position:
    """A place where one tank can stand."""
    number = next(_numbers)
    return add_position(
        room=a_room(showroom, room, at=at),
        zone=a_zone(showroom, zone, at=at),
        name=name or f"place {number}",
        walking_order=number if walking_order is None else walking_order,
        by=an_owner(showroom),
        at=at,
    )


def a_tank(
    code: str = "",
    *,
    showroom: Showroom | None = None,
    size_mm: tuple[int, int, int, int] = SIZE_MM,
    zone: str = "A",
    room: str = "Hall",
    walking_order: int | None = None,
    at: datetime = AT,
    **changes: Any,
) -> Tank:
    """A glass (length, width, height, glass in mm) at a place of its own, without a layout."""
    showroom = showroom or a_showroom(at=at)
    length, width, height, glass = size_mm
    return add_tank(
        showroom=showroom,
        code=code or f"T{next(_numbers)}",
        length_mm=length,
        width_mm=width,
        height_mm=height,
        glass_mm=glass,
        position=a_place(showroom, room=room, zone=zone, walking_order=walking_order, at=at),
        by=an_owner(showroom),
        at=at,
        **changes,
    )


def a_planted_tank(code: str = "", *, stage: str = "show", **changes: Any) -> Tank:
    """A glass with a layout at that stage."""
    tank = a_tank(code, **changes)
    at = changes.get("at", AT)
    begin_layout(
        tank=tank,
        title=f"Layout of {code or tank.pk}",
        stage=stage,
        by=an_owner(tank.showroom),
        at=at,
    )
    return tank


def _person(
    showroom: Showroom, role: str, by: Membership | None, at: datetime, **changes: Any
) -> Membership:
    number = next(_numbers)
    fields = {"login": f"person{number}", "name": f"Person {number}", **changes}
    return add_person(showroom=showroom, role=role, by=by, at=at, **fields)
