"""What the three kinds of an emergency's taps have in common."""

from __future__ import annotations

from uuid import UUID

from gallery_ops.kernel.errors import Held
from maintenance.actions.context import Said
from maintenance.services.incidents import Emergency, Where
from tanks.models import Room
from tanks.queries.tanks import tank_by_code


def emergency(said: Said) -> Emergency:
    """Which emergency the tap belongs to."""
    body = said.body
    return Emergency(UUID(body["incident"]), body["card"], body["drill"])


def where(said: Said) -> Where | None:
    """The place that was said, as it is called now; None where none was."""
    place = said.body["place"]
    if place is None:
        return None
    key = place["key"] or ""
    if place["kind"] == "gallery":
        return Where()
    if place["kind"] == "tank":
        return Where(tank=tank_by_code(said.showroom, key, said.done_at_corrected).tank)
    return Where(room=_room(said, key))


def _room(said: Said, uid: str) -> Room:
    try:
        found = Room.objects.of(said.showroom).filter(uid=UUID(uid), voided_at=None).first()
    except ValueError:
        found = None
    if found is None:
        raise Held("unknown", "There is no such room here.", remedy="Say the place again.")
    return found
