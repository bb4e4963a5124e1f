"""A task was done."""

from __future__ import annotations

from maintenance.actions.context import Said
from maintenance.services.completions import complete


def apply(said: Said) -> None:
    """Complete it."""
    complete(
        due_task=said.task(said.body["task"]),
        minutes=said.body["minutes"],
        answers=said.body["answers"],
        **said.moments(),
    )
