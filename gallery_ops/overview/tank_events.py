"""What was changed at a tank that its water may answer to?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta

from django.db.models import Q

from inventory.models import UsePlan
from maintenance.models import Completion
from tanks.models import EquipmentService, StageChange, Tank
from tanks.queries.glasses import same_tank

LANES = ("water", "plan", "stage", "trim", "filter")
_TASKS = {
    "water_change": "water",
    "start_up_change": "water",
    "trim": "trim",
    "filter_service": "filter",
}
"""Beginning of a task's key -> its lane."""


@dataclass(frozen=True, slots=True)
class Happened:
    """Something was changed; ``kind`` is one of LANES."""

    at: datetime
    kind: str
    words: str
    who: str


def happened(tank: Tank, since: datetime, at: datetime) -> list[Happened]:
    """Water changes, changed plans, stages, trims and services of filters, oldest first.

    Five queries.
    """
    found = [*_work(tank, since, at), *_plans(tank, since, at)]
    for row in (
        StageChange.objects.of(tank.showroom)
        .standing()
        .filter(layout__tank=tank, done_at_corrected__range=(since, at))
        .select_related("person")
    ):
        found.append(
            Happened(row.done_at_corrected, "stage", row.get_stage_to_display(), row.person.name)
        )
    for row in (
        EquipmentService.objects.of(tank.showroom)
        .standing()
        .filter(equipment__tank__in=same_tank(tank), done_at_corrected__range=(since, at))
        .select_related("person", "equipment")
    ):
        words = f"{row.equipment}, {row.get_what_display()}"
        found.append(Happened(row.done_at_corrected, "filter", words, row.person.name))
    return sorted(found, key=lambda one: one.at)


def _work(tank: Tank, since: datetime, at: datetime) -> list[Happened]:
    asked = Q()
    for begins in _TASKS:
        asked |= Q(due_task__template__key__startswith=begins)
    rows = (
        Completion.objects.of(tank.showroom)
        .standing()
        .filter(asked, due_task__tank=tank, done_at_corrected__range=(since, at))
        .select_related("due_task__template", "person")
    )
    return [
        Happened(
            row.done_at_corrected,
            next(
                lane
                for begins, lane in _TASKS.items()
                if row.due_task.template.key.startswith(begins)
            ),
            row.due_task.template.name,
            row.person.name,
        )
        for row in rows
    ]


def _plans(tank: Tank, since: datetime, at: datetime) -> list[Happened]:
    """A plan's first version belongs to the layout; a later one is a change, from its morning."""
    zone, cut_off = tank.showroom.tz, tank.showroom.cut_off_hour
    rows = (
        UsePlan.objects.of(tank.showroom)
        .filter(
            tank=tank,
            voided_at=None,
            version__gt=1,
            from_on__gte=since.date() - timedelta(days=1),
            from_on__lte=at.date(),
        )
        .select_related("item", "made_by")
    )
    return [
        Happened(
            max(since, datetime.combine(row.from_on, time(cut_off), zone)),
            "plan",
            f"{row.item.name}, {row.version}: {row.reason}".removesuffix(": "),
            row.made_by.name,
        )
        for row in rows
    ]
