"""A task was done."""

from __future__ import annotations

from maintenance.actions.context import Said
from maintenance.actions.stopped import check_not_stopped
from maintenance.services.completions import complete
from maintenance.services.filter_service import note_service
from tanks.queries.glasses import glass_then

GIVES = ("dose", "feed")


def apply(said: Said) -> None:
    """Complete it."""
    task = said.task(said.body["task"])
    if task.template.kind in GIVES and task.tank is not None:
        check_not_stopped(said, glass_then(task.tank, said.done_at_corrected))
    complete(
        due_task=task,
        minutes=said.body["minutes"],
        answers=said.body["answers"],
        **said.moments(),
    )
    if task.tank is not None:
        note_service(
            due_task=task,
            tank=glass_then(task.tank, said.done_at_corrected),
            answers=said.body["answers"],
            **said.moments(),
        )
