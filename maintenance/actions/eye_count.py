"""A level was read by eye, in quarters."""

from __future__ import annotations

from inventory.services.eye_counts import record_eye_count
from maintenance.actions.context import Said


def apply(said: Said) -> None:
    """Keep it; a fresh weighing stays above it."""
    record_eye_count(
        container=said.container(said.body["container"]),
        quarters=said.body["quarters"],
        **said.moments(),
    )
