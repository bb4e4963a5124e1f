"""It was done at another tank: the entry stays, shown as moved, and a new one names it."""

from __future__ import annotations

from maintenance.actions.anew import enter_anew
from maintenance.actions.context import Said


def apply(said: Said) -> None:
    """Take it back there, and enter it here."""
    enter_anew(said)
