"""Was a task left out the last time it came up, and how often in a row? Two queries."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, timedelta
from typing import Any

from django.db.models import Max

from gallery_ops.kernel.models import Showroom
from maintenance.models import Completion, Skip

LOOK_BACK = timedelta(days=60)
"""Longer ago than this nobody asks for a row of skips (common practice, no source)."""

TaskKey = tuple[int | None, str]
"""Tank id and key of the template."""


def skipped_last(
    showroom: Showroom, tank_ids: Collection[int], before: date
) -> dict[TaskKey, dict[str, Any]]:
    """Task of a tank -> day, reason and number of its skips since it was last done.

    Tasks that were done the last time are left out.
    """
    lately = {
        "due_task__tank_id__in": tank_ids,
        "due_task__due_on__lt": before,
        "due_task__due_on__gte": before - LOOK_BACK,
    }
    done = {
        (tank_id, key): last
        for tank_id, key, last in Completion.objects.of(showroom)
        .standing()
        .filter(**lately)
        .values_list("due_task__tank_id", "due_task__template__key")
        .annotate(last=Max("due_task__due_on"))
    }
    skips = (
        Skip.objects.of(showroom)
        .standing()
        .filter(**lately)
        .select_related("due_task__template")
        .order_by("-due_task__due_on", "-pk")
    )
    found: dict[TaskKey, dict[str, Any]] = {}
    counted: set[int] = set()
    for row in skips:
        task = row.due_task
        key = (task.tank_id, task.template.key)
        if task.pk in counted or task.due_on <= done.get(key, date.min):
            continue
        counted.add(task.pk)
        known = found.setdefault(
            key,
            {
                "on": task.due_on.isoformat(),
                "reason": str(row.get_reason_display()),
                "in_a_row": 0,
            },
        )
        known["in_a_row"] += 1
    return found
