"""Something could not be measured, and why: better than an invented number."""

from __future__ import annotations

from maintenance.actions.context import Said
from maintenance.services.observations import observe


def apply(said: Said) -> None:
    """Keep the reason."""
    observe(
        showroom=said.showroom,
        tank=said.tank(),
        round_=said.round_or_none(),
        kind="unable",
        key=said.body["check"],
        text=said.body["reason"],
        **said.moments(),
    )
