"""Another amount or number was meant: the entry stays, and a new one with the reason names it."""

from __future__ import annotations

from maintenance.actions.anew import enter_anew
from maintenance.actions.context import Said


def apply(said: Said) -> None:
    """Take back what was typed, and enter what was meant."""
    enter_anew(said)
