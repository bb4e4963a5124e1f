"""Something could not be measured, and why: better than an invented number."""

from __future__ import annotations

from maintenance.actions.context import Said
from maintenance.services.observations import observe


def apply(said: Said) -> None:
    """Keep the reason, of a tank or of a container."""
    code = said.body.get("container")
    container = said.container(code) if code else None
    observe(
        showroom=said.showroom,
        tank=said.tank() if container is None else None,
        round_=said.round_or_none(),
        kind="unable",
        key=said.body["check"],
        text=said.body["reason"],
        data={"container": container.code} if container is not None else None,
        **said.moments(),
    )
