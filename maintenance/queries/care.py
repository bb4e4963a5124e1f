"""How often does each tank of a showroom get its regular work, and when did it get it?"""

from __future__ import annotations

import re
from datetime import date, datetime

from django.db.models import Q

from gallery_ops.kernel.models import Showroom
from maintenance.models import Completion, Scope, TaskTemplate
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
