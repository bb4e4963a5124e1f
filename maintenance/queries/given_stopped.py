"""What was given, fed or signed for while an emergency had stopped giving there?

A tablet without the network cannot know of the card that another one opened, and the card may
arrive after the dose that it forbids. What was given was given: nothing of it is changed. It is
found here from the facts, whichever came first, and shown to whoever looks after the emergency.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.quantity import quantity
from inventory.models import Use
from maintenance.models import Completion, Incident, Verdict
from tanks.models import Placement

GIVES = ("dose", "feed")
STOPPED = "stopped"


@dataclass(frozen=True, slots=True)
class Given:
    """One gift. what : amount and item, or the task that was signed for.

    let_pass_by : who said that it was given all the same, where somebody was asked.
    """

    at: datetime
    entered_at: datetime
    tank_id: int
    what: str
    who: str
    device: str
    action_id: UUID | None
    let_pass_by: str = ""


def given_while_stopped(showroom: Showroom, rows: Iterable[Incident]) -> dict[int, list[Given]]:
    """Key of the emergency -> what was given in its time where it stopped giving, by its second.

    Drills stop nothing. Four queries for any number of emergencies, one where nothing was given.
    """
    stopping = [row for row in rows if row.stops and not row.is_drill]
    found: dict[int, list[Given]] = {row.pk: [] for row in stopping}
    if not stopping:
        return found
    gifts = _gifts(showroom, stopping)
    if not gifts:
        return found
    rooms = _rooms(showroom, {gift.tank_id for gift in gifts})
    passed = _let_pass(showroom, {gift.action_id for gift in gifts if gift.action_id})
    for row in stopping:
        for gift in gifts:
            if _is_during(row, gift.at) and _holds(row, gift, rooms):
                who = passed.get(gift.action_id, "") if gift.action_id else ""
                found[row.pk].append(_with(gift, who))
    return found


def _gifts(showroom: Showroom, stopping: list[Incident]) -> list[Given]:
    """All of the time from the first beginning to the last end, in order."""
    span: dict[str, Any] = {
        "done_at_corrected__gte": min(row.opened_at for row in stopping),
    }
    ends = [row.closed_at for row in stopping if row.closed_at is not None]
    if len(ends) == len(stopping):
        span["done_at_corrected__lt"] = max(ends)
    uses = (
        Use.objects.of(showroom)
        .standing()
        .filter(given_base__gt=0, **span)
        .select_related("item", "person", "device")
    )
    gifts = [
        _gift(
            use, use.tank_id, f"{quantity(use.item.dimension, use.given_base).text()} of {use.item}"
        )
        for use in uses
    ]
    known = {gift.action_id for gift in gifts}
    signed = (
        Completion.objects.of(showroom)
        .standing()
        .filter(due_task__template__kind__in=GIVES, due_task__tank__isnull=False, **span)
        .select_related("due_task__template", "person", "device")
    )
    gifts += [
        _gift(row, row.due_task.tank_id, row.due_task.template.name)
        for row in signed
        if row.action_id is None or row.action_id not in known
    ]
    return sorted(gifts, key=lambda gift: (gift.at, gift.tank_id, gift.what))


def _gift(fact: Any, tank_id: int, what: str) -> Given:
    return Given(
        at=fact.done_at_corrected,
        entered_at=fact.entered_at,
        tank_id=tank_id,
        what=what,
        who=fact.person.name,
        device=fact.device.name if fact.device else "",
        action_id=fact.action_id,
    )


def _with(gift: Given, who: str) -> Given:
    return Given(
        gift.at,
        gift.entered_at,
        gift.tank_id,
        gift.what,
        gift.who,
        gift.device,
        gift.action_id,
        who,
    )


def _is_during(row: Incident, at: datetime) -> bool:
    return row.opened_at <= at and (row.closed_at is None or at < row.closed_at)


def _holds(row: Incident, gift: Given, rooms: dict[int, list[Any]]) -> bool:
    """Of its tank, or of a tank that stood in its room at that moment."""
    if row.stops == "tank":
        return row.tank_id == gift.tank_id
    if row.stops == "room":
        return any(
            stood.position.room_id == row.room_id
            and stood.from_at <= gift.at
            and (stood.to_at is None or gift.at < stood.to_at)
            for stood in rooms.get(gift.tank_id, [])
        )
    return True


def _rooms(showroom: Showroom, tank_ids: set[int]) -> dict[int, list[Any]]:
    found: dict[int, list[Any]] = {}
    rows = Placement.objects.of(showroom).filter(voided_at=None, tank_id__in=tank_ids)
    for row in rows.select_related("position"):
        found.setdefault(row.tank_id, []).append(row)
    return found


def _let_pass(showroom: Showroom, action_ids: set[UUID]) -> dict[UUID, str]:
    """Actions that waited because giving was stopped, and who let them count."""
    verdicts = (
        Verdict.objects.of(showroom)
        .filter(action__action_id__in=action_ids, action__verdicts__code=STOPPED)
        .filter(decided_by__isnull=False, outcome="accepted")
        .select_related("action", "decided_by")
        .order_by("pk")
    )
    return {row.action.action_id: row.decided_by.name for row in verdicts if row.decided_by}
