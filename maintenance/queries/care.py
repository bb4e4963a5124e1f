"""How often does each tank of a showroom get its regular work, and when did it get it?"""

from __future__ import annotations

import re
from collections.abc import Collection
from datetime import date, datetime

from django.db.models import Max, Min, Q

from gallery_ops.kernel.models import Showroom
from maintenance.models import Completion, DueTask, Scope, TaskTemplate
from tanks.models import Tank

_WEEKS = re.compile(r"^FREQ=WEEKLY(?:;INTERVAL=(\d+))?(?:;BYDAY=[A-Z,]+)?$")


def weeks_between(
    showroom: Showroom, keys: tuple[str, ...], stage: str, on: date
) -> dict[str, int]:
    """Template key -> weeks from one time to the next in that stage; one query.

    Templates with another kind of rule are left out, and so are those not due in that stage.
    """
    rows = TaskTemplate.objects.of(showroom).filter(
        Q(to_on=None) | Q(to_on__gt=on), scope=Scope.TANK, key__in=keys, from_on__lte=on
    )
    found: dict[str, int] = {}
    for row in rows:
        match = _WEEKS.match(row.rule)
        days = row.rule.partition("BYDAY=")[2].count(",") + 1
        once_a_week = row.is_spread or days == 1
        if match and once_a_week and (not row.stages or stage in row.stages):
            found[row.key] = int(match.group(1) or 1)
    return found


def done_lately(tank: Tank, key: str, since: datetime) -> list[datetime]:
    """When the task of this key was done at this tank since a moment, oldest first."""
    return list(
        Completion.objects.standing()
        .filter(due_task__tank=tank, due_task__template__key=key, done_at_corrected__gte=since)
        .order_by("done_at_corrected")
        .values_list("done_at_corrected", flat=True)
    )


def last_done_by_tank(
    showroom: Showroom, keys: Collection[str], at: datetime
) -> dict[tuple[int, str], datetime]:
    """(Tank, template key) -> when that task was done there last; one query."""
    rows = (
        Completion.objects.of(showroom)
        .standing()
        .filter(
            due_task__tank__isnull=False,
            due_task__template__key__in=keys,
            done_at_corrected__lte=at,
        )
        .order_by()
        .values("due_task__tank_id", "due_task__template__key")
        .annotate(newest=Max("done_at_corrected"))
        .values_list("due_task__tank_id", "due_task__template__key", "newest")
    )
    return {(tank_id, key): newest for tank_id, key, newest in rows}


def next_due_by_tank(
    showroom: Showroom, keys: Collection[str], on: date
) -> dict[tuple[int, str], date]:
    """(Tank, template key) -> the next day on which that task is open there; one query.

    One that was due before ``on`` and is open still is due on ``on``.
    """
    rows = (
        DueTask.objects.of(showroom)
        .filter(tank__isnull=False, template__key__in=keys, state="open")
        .order_by()
        .values("tank_id", "template__key")
        .annotate(first=Min("due_on"))
        .values_list("tank_id", "template__key", "first")
    )
    return {(tank_id, key): max(first, on) for tank_id, key, first in rows}
