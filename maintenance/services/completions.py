"""A due task was done: claims about a task compete, the earliest that stands completes it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any, Unpack
from uuid import UUID

from django.db import transaction

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.models import Device, Membership
from gallery_ops.kernel.queries.people import skills_of
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.facts import Said, columns_of_taking_back
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.day import business_day
from maintenance.models import Completion, DueTask, Skip
from maintenance.services.proof import needs_a_word

LATE_ENTRY = timedelta(hours=12)
"""An entry made later than this after the deed never counts as on time."""


@transaction.atomic
def complete(
    *,
    due_task: DueTask,
    by: Membership,
    at: datetime,
    done_at: datetime | None = None,
    done_at_corrected: datetime | None = None,
    minutes: int | None = None,
    answers: Mapping[str, Any] | None = None,
    device: Device | None = None,
    action_id: UUID | None = None,
) -> Completion:
    """Write down that a task was done.

    Raises
    ------
    Held
        ``wrong_skill`` when this person is not signed off for it.
    """
    require(by, "record", in_=due_task.showroom)
    if action_id is not None:
        known = Completion.objects.filter(action_id=action_id, due_task=due_task).first()
        if known is not None:
            return known
    corrected = done_at_corrected or done_at or at
    require_skill(due_task, by, corrected)
    row = Completion.objects.create(
        showroom=due_task.showroom,
        due_task=due_task,
        minutes=minutes,
        answers=dict(answers or {}),
        entered_late=at - corrected > LATE_ENTRY,
        to_confirm=needs_a_word(
            skill=due_task.template.skill,
            by=by,
            device=device,
            action_id=action_id,
            done_at=corrected,
        ),
        done_at=done_at or at,
        done_at_corrected=corrected,
        entered_at=at,
        person=by.person,
        device=device,
        action_id=action_id,
    )
    # A claim that was just made stands, and one that stands is enough: nothing to look up.
    _become(due_task, "done", None, at)
    return row


def require_skill(due_task: DueTask, by: Membership, at: datetime) -> None:
    """Was this person signed off for this task on that day? C3 includes C2 includes C1."""
    wanted = due_task.template.skill
    showroom = due_task.showroom
    day = business_day(at, showroom.tz, showroom.cut_off_hour)
    if wanted == "C1" or wanted in skills_of(by, day):
        return
    raise Held(
        "wrong_skill",
        f"{due_task.template.name} needs {wanted}, and {by.person.name} is not signed off for it.",
        remedy=f"Somebody with {wanted} does it, or a manager signs the skill off.",
    )


@transaction.atomic
def take_back_completion(
    *,
    completion: Completion,
    by: Membership,
    at: datetime,
    **said: Unpack[Said],
) -> Completion:
    """It was a slip; both facts stay, the task is due again."""
    require(by, "record", in_=completion.showroom)
    known = Completion.objects.filter(corrects=completion).first()
    if known is not None:
        return known
    row = Completion.objects.create(
        **columns_of_taking_back(completion, by, at, said),
        due_task=completion.due_task,
    )
    settle(completion.due_task, at)
    return row


def settle(due_task: DueTask, at: datetime) -> None:
    """Make the task's state what its facts say, and have the alerts looked at again.

    A completion wins over a skip, whichever came first.
    """
    DueTask.objects.select_for_update().get(pk=due_task.pk)
    state, rests_until = "open", None
    if Completion.objects.standing().filter(due_task=due_task).exists():
        state = "done"
    else:
        skip = Skip.objects.standing().filter(due_task=due_task).order_by("-pk").first()
        if skip is not None:
            state, rests_until = SKIP_STATE.get(skip.reason, "open"), skip.until_at
    _become(due_task, state, rests_until, at)


def _become(due_task: DueTask, state: str, rests_until: datetime | None, at: datetime) -> None:
    DueTask.objects.filter(pk=due_task.pk).update(state=state, rests_until_at=rests_until)
    due_task.state, due_task.rests_until_at = state, rests_until
    want_work(due_task.showroom, "overdue", at=at)


SKIP_STATE = {"not_needed": "skipped", "tank_empty": "dropped", "already_done": "done"}
"""What a skip makes of its task; every other reason leaves it due (common practice, no source)."""
