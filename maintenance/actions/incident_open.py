"""A card of the first minute was opened."""

from __future__ import annotations

from maintenance.actions.context import Said
from maintenance.actions.incident_parts import emergency, where
from maintenance.services.incidents import open_incident


def apply(said: Said) -> None:
    """Its clock runs from here."""
    open_incident(
        showroom=said.showroom, emergency=emergency(said), where=where(said), **said.moments()
    )
