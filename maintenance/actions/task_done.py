"""Does an entry do the task that it names? Only then the task is done by it.

A dose is done by what was given, a weighing by a scale, a test by a number. An entry that names a
task of another kind waits for a person: what it says may be so, and the task may still be due.
"""

from __future__ import annotations

from collections.abc import Collection

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.rights import roles_in_words
from maintenance.actions.context import Said
from maintenance.models import DueTask

CODE = "other_task"


def task_done(said: Said, *kinds: str) -> DueTask | None:
    """The task that is named, if entries of this kind do it; None where none is named.

    Raises
    ------
    Held
        ``other_task``. Whoever may correct lets the entry count without the task, which stays due:
        then None.
    """
    if not said.envelope.task_id:
        return None
    task = said.task()
    if task.template.kind in kinds:
        return task
    if CODE in said.waived:
        return None
    raise other_task(task)


def other_task(task: DueTask) -> Held:
    """This entry does not do that task."""
    return Held(
        CODE,
        f"This does not do the task that it names: {task.template.name}.",
        remedy="It is kept, and the task stays due. Do the task or skip it. The entry alone counts "
        f"when one of these says so: {roles_in_words('correct')}.",
    )


def asks_for_a_number(task: DueTask) -> bool:
    """Is a reading what this work is about?"""
    asked: Collection[object] = task.template.questions
    return any(isinstance(one, dict) and one.get("kind") == "reading" for one in asked)
