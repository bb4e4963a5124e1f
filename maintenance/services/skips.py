"""A due task was left out: twelve reasons, each with its effect."""

from __future__ import annotations

from datetime import datetime
from typing import Unpack
from uuid import UUID

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Device, Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.facts import Said, columns_of_taking_back, moment_of
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.day import business_day
from inventory.models import Item
from inventory.queries.plans import planned_base
from inventory.services.use import skip_use
from maintenance.models import DueTask, Observation, Skip
from maintenance.services.completions import settle
from tanks.models import Tank
from tanks.queries.glasses import glass_then

NEEDS_TEXT = {"not_needed", "tool_broken", "other"}
NEEDS_UNTIL = {"animals_rest", "event"}
NEEDS_LINK = {"already_done"}
PURPOSES = {"dose": "dose", "feed": "food"}
"""Kind of task that gives something, and the purpose of what it gives."""
CLAIM = "claim:"
"""Begins a link that is no entry: somebody is said to have done it; a person's id may follow."""
GIVEN_OR_EMPTY = {"already_done", "tank_empty"}
"""Reasons with which stock learns nothing: it was given after all, or there is nobody to give."""


@transaction.atomic
def skip(
    *,
    due_task: DueTask,
    reason: str,
    by: Membership,
    at: datetime,
    text: str = "",
    until_at: datetime | None = None,
    links_to: str = "",
    done_at: datetime | None = None,
    done_at_corrected: datetime | None = None,
    device: Device | None = None,
    action_id: UUID | None = None,
) -> Skip:
    """Leave a task out and say why; what follows from the reason follows here.

    For a dose or food stock learns that nothing was given: a use of 0 for each item planned.

    Raises
    ------
    Refused
        ``reason_incomplete`` when the reason asks for something that was not given.
    """
    require(by, "skip", in_=due_task.showroom)
    if action_id is not None:
        known = Skip.objects.filter(action_id=action_id, due_task=due_task).first()
        if known is not None:
            return known
    _check(reason, text, until_at, links_to)
    moments = {
        "done_at": done_at or at,
        "done_at_corrected": done_at_corrected or done_at or at,
        "entered_at": at,
        "person": by.person,
        "device": device,
        "action_id": action_id,
    }
    row = Skip.objects.create(
        showroom=due_task.showroom,
        due_task=due_task,
        reason=reason,
        text=text[:500],
        until_at=until_at,
        links_to=links_to[:60],
        **moments,
    )
    if reason == "tool_broken":
        Observation.objects.create(
            showroom=due_task.showroom,
            tank=_glass(due_task, done_at_corrected or done_at or at),
            kind="fault",
            key=due_task.template.key,
            text=text[:500],
            **moments,
        )
    if due_task.template.kind in PURPOSES and reason not in GIVEN_OR_EMPTY:
        said = Said(
            done_at=done_at,
            done_at_corrected=done_at_corrected,
            device=device,
            action_id=action_id,
        )
        _nothing_given(due_task, reason, by, at, said)
    settle(due_task, at)
    want_work(due_task.showroom, "skips", at=at)
    return row


@transaction.atomic
def take_back_skip(
    *,
    skip: Skip,
    by: Membership,
    at: datetime,
    **said: Unpack[Said],
) -> Skip:
    """It was a slip; both facts stay, the task is as it was before."""
    require(by, "skip", in_=skip.showroom)
    known = Skip.objects.filter(corrects=skip).first()
    if known is not None:
        return known
    row = Skip.objects.create(
        **columns_of_taking_back(skip, by, at, said),
        due_task=skip.due_task,
        reason=skip.reason,
    )
    settle(skip.due_task, at)
    want_work(skip.showroom, "skips", at=at)
    return row


def _nothing_given(
    due_task: DueTask, reason: str, by: Membership, at: datetime, said: Said
) -> None:
    showroom, moment = due_task.showroom, moment_of(at, said)
    tank = _glass(due_task, moment)
    if tank is None:
        return
    purpose = PURPOSES[due_task.template.kind]
    day = business_day(moment, showroom.tz, showroom.cut_off_hour)
    plans = planned_base(showroom, tank, day)
    if not plans and due_task.tank is not None:  # on the day of new glass its plans hold already
        plans = planned_base(showroom, due_task.tank, day)
    planned = [row for row in plans.values() if row.purpose == purpose]
    items = Item.objects.of(showroom).in_bulk([row.item_id for row in planned])
    for row in planned:
        if row.amount_base:
            skip_use(
                tank=tank,
                item=items[row.item_id],
                purpose=purpose,
                answers={"reason": reason},
                by=by,
                at=at,
                **said,
            )


def _glass(due_task: DueTask, moment: datetime) -> Tank | None:
    """The glass that the tank of this task had then."""
    return glass_then(due_task.tank, moment) if due_task.tank is not None else None


def _check(reason: str, text: str, until_at: datetime | None, links_to: str) -> None:
    if reason in NEEDS_TEXT and not text.strip():
        raise Refused(
            "reason_incomplete",
            "This reason needs words or a value.",
            {"text": "Write what you saw, at most 300 characters."},
        )
    if reason in NEEDS_UNTIL and until_at is None:
        raise Refused(
            "reason_incomplete",
            "This reason needs a day or an hour.",
            {"until": "Choose until when the task rests."},
        )
    if reason in NEEDS_LINK and not (text.strip() if links_to in {"", CLAIM} else links_to):
        raise Refused(
            "reason_incomplete",
            "This reason needs the entry of the other person.",
            {"links": "Choose the entry that did it, or write who did it and when."},
        )
