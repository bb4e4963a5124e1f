"""A task was done. A dose or food is done by what was given: a tick moves no stock."""

from __future__ import annotations

from gallery_ops.kernel.errors import Held
from maintenance.actions.context import Said
from maintenance.models import DueTask
from maintenance.services.completions import complete
from maintenance.services.filter_service import note_service
from tanks.queries.glasses import glass_then

GIVES = ("dose", "feed")


def apply(said: Said) -> None:
    """Complete it.

    Raises
    ------
    Held
        ``no_amount`` for a dose or food: nothing says how much of what was given
    """
    task = said.task(said.body["task"])
    if task.template.kind in GIVES:
        raise _no_amount(task)
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


def _no_amount(task: DueTask) -> Held:
    return Held(
        "no_amount",
        f"This says that it was done, and not how much was given: {task.template.name}.",
        remedy="It is kept, and the task stays due. Enter what was given. If somebody entered it "
        "already, leave the task out with that reason.",
    )
