"""A few words about a tank or a place."""

from __future__ import annotations

from maintenance.actions.context import Said
from maintenance.services.observations import observe


def apply(said: Said) -> None:
    """Keep them."""
    stop = said.stop_or_none()
    observe(
        showroom=said.showroom,
        tank=stop.tank if stop else None,
        round_=said.round_or_none(),
        kind="note",
        text=said.body["text"],
        **said.moments(),
    )
