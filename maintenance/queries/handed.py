"""Which open tasks did somebody hand to a person, because they need a skill? Three queries."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from gallery_ops.kernel.models import Person, Showroom
from maintenance.models import Skip, SkipReason
from tanks.models import TankCode

LOOK_BACK = timedelta(days=30)
"""What was handed over longer ago is in the list of what is late (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Handed:
    """One task, from whom and to whom; words : what was said with it, may be empty."""

    task_uid: UUID
    task: str
    tank: str
    round_kind: str
    to_uid: UUID
    to: str
    by: str
    at: datetime
    words: str


def handed(showroom: Showroom, on: date, *, at: datetime) -> dict[int, Handed]:
    """Key of the due task -> to whom it was handed, of tasks open until `on`.

    The last thing said about a task counts: what was put off afterwards is no longer handed over.
    """
    rows = (
        Skip.objects.of(showroom)
        .standing()
        .filter(due_task__state="open", due_task__due_on__lte=on)
        .filter(due_task__due_on__gt=on - LOOK_BACK)
        .select_related("due_task__template", "person")
        .order_by("pk")
    )
    last = {row.due_task_id: row for row in rows}
    named = {
        key: UUID(row.links_to)
        for key, row in last.items()
        if row.reason == SkipReason.NEEDS_SKILL and _is_uid(row.links_to)
    }
    if not named:
        return {}
    people = {row.uid: row for row in Person.objects.filter(uid__in=set(named.values()))}
    tanks = {last[key].due_task.tank_id for key in named}
    codes = dict(
        TankCode.objects.of(showroom)
        .filter(voided_at=None, tank_id__in=tanks)
        .at(at)
        .values_list("tank_id", "code")
    )
    return {
        key: Handed(
            task_uid=last[key].due_task.uid,
            task=last[key].due_task.template.name,
            tank=codes.get(last[key].due_task.tank_id or 0, ""),
            round_kind=last[key].due_task.template.round_kind,
            to_uid=uid,
            to=people[uid].name,
            by=last[key].person.given_name,
            at=last[key].done_at_corrected,
            words=last[key].text,
        )
        for key, uid in named.items()
        if uid in people
    }


def handed_to(showroom: Showroom, person: Person, on: date, *, at: datetime) -> list[Handed]:
    """What this person was handed and has not done yet, the oldest first."""
    mine = [one for one in handed(showroom, on, at=at).values() if one.to_uid == person.uid]
    return sorted(mine, key=lambda one: (one.at, one.tank))


def _is_uid(text: str) -> bool:
    try:
        UUID(text)
    except ValueError:
        return False
    return True
