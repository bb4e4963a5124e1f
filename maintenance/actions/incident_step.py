"""One tap on an open card: a line done, a number rung, somebody out, a place, a written line."""

from __future__ import annotations

from maintenance.actions.context import Said
from maintenance.actions.incident_parts import emergency, where
from maintenance.services.incidents import step_incident


def apply(said: Said) -> None:
    """Keep it with its second."""
    body = said.body
    step_incident(
        showroom=said.showroom,
        emergency=emergency(said),
        kind=body["step"],
        line=body["line"],
        text=body["text"] or "",
        where=where(said),
        **said.moments(),
    )
