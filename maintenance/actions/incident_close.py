"""An emergency is over, or was nothing."""

from __future__ import annotations

from maintenance.actions.context import Said
from maintenance.actions.incident_parts import emergency
from maintenance.services.incidents import close_incident


def apply(said: Said) -> None:
    """What it stopped goes on."""
    close_incident(
        showroom=said.showroom,
        emergency=emergency(said),
        decided_by=said.body["decided_by"] or "",
        was_nothing=said.body["how"] == "nothing",
        **said.moments(),
    )
