"""A picture was taken at a stop: what it is of is kept now, its bytes come apart from this."""

from __future__ import annotations

from gallery_ops.kernel.errors import Held
from maintenance.actions.context import Said
from tanks.services.photos import Announced, announce_photo


def apply(said: Said) -> None:
    """The photo of the tank of the stop; in a room it is of the room only."""
    body = said.body
    subject = f"entry:{body['entry']}" if body["entry"] else ""
    room = said.room_or_none()
    if room is not None:
        subject = subject or f"room:{room.uid}"
    if room is None and not said.envelope.stop_id:
        raise Held(
            "unknown", "This photo names no stop.", remedy="A person can say which tank it shows."
        )
    announce_photo(
        showroom=said.showroom,
        tank=said.tank() if room is None else None,
        told=Announced(
            sha256=body["sha256"],
            size_bytes=body["size_bytes"],
            media_type=body["media_type"],
            viewpoint=body["viewpoint"],
            subject=subject,
        ),
        **said.moments(),
    )
