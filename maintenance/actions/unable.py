"""Something could not be measured, and why: better than an invented number."""

from __future__ import annotations

from inventory.models import Container
from maintenance.actions.context import Said
from maintenance.services.observations import observe
from tanks.models import Room


def apply(said: Said) -> None:
    """Keep the reason, of a tank, a room or a container."""
    code = said.body.get("container")
    container = said.container(code) if code else None
    room = said.room_or_none()
    observe(
        showroom=said.showroom,
        tank=said.tank() if container is None and room is None else None,
        round_=said.round_or_none(),
        kind="unable",
        key=said.body["check"],
        text=said.body["reason"],
        data=_where(container, room),
        **said.moments(),
    )


def _where(container: Container | None, room: Room | None) -> dict[str, str]:
    if container is not None:
        return {"container": container.code}
    return {"room": room.name} if room is not None else {}
