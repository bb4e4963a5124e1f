"""Somebody left a stop half done: kept as said, nothing follows from it."""

from __future__ import annotations

from maintenance.actions.context import Said


def apply(said: Said) -> None:
    """The stop must be one of ours; what is open there follows from its tasks."""
    said.stop_or_none()
