"""A due task was done: claims about a task compete, the earliest that stands completes it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Unpack
from uuid import UUID

from django.db import transaction

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.models import Device, Membership
from gallery_ops.kernel.queries.people import skills_of
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.facts import Said, columns_of_taking_back, fact_columns
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.day import business_day
from maintenance.models import Completion, DueTask, Skip
from maintenance.services.proof import needs_a_word

LATE_ENTRY = timedelta(hours=12)
"""An entry made later than this after the deed never counts as on time."""
_BATCH = 400


@dataclass(frozen=True, slots=True)
class Claim:
    """That one task was done, told together with others as it happened."""

    due_task: DueTask
    by: Membership
    at: datetime


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


@transaction.atomic
def complete_all(claims: Iterable[Claim]) -> int:
    """Write down that several tasks were done, all or none; gives how many.

    What :func:`complete` writes for each, in as many statements for forty as for one.

    Raises
    ------
    Held
        ``wrong_skill`` for the first that its person is not signed off for.
    """
    told = list(claims)
    skills: dict[tuple[int, date], frozenset[str]] = {}
    for one in told:
        require(one.by, "record", in_=one.due_task.showroom)
        require_skill(one.due_task, one.by, one.at, known=skills)
    Completion.objects.bulk_create(
        (
            Completion(
                **fact_columns(one.due_task.showroom, one.by, one.at, {}), due_task=one.due_task
            )
            for one in told
        ),
        batch_size=_BATCH,
    )
    keys = [one.due_task.pk for one in told]
    for start in range(0, len(keys), _BATCH):
        rows = DueTask.objects.filter(pk__in=keys[start : start + _BATCH])
        rows.update(state="done", rests_until_at=None)
    for one in told:
        one.due_task.state, one.due_task.rests_until_at = "done", None
        want_work(one.due_task.showroom, "overdue", at=one.at)
    return len(told)


def require_skill(
    due_task: DueTask,
    by: Membership,
    at: datetime,
    *,
    known: dict[tuple[int, date], frozenset[str]] | None = None,
) -> None:
    """Was this person signed off for this task on that day? C3 includes C2 includes C1.

    known : skills of people on days that were looked up already; what is looked up here joins it
    """
    wanted = due_task.template.skill
    if wanted == "C1":
        return
    showroom = due_task.showroom
    key = (by.pk, business_day(at, showroom.tz, showroom.cut_off_hour))
    known = {} if known is None else known
    if key not in known:
        known[key] = skills_of(by, key[1])
    if wanted in known[key]:
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
