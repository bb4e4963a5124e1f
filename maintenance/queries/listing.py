"""Due tasks as rows that a database can filter, sort and page; one query a page."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db.models import F, FilteredRelation, Q, QuerySet

from gallery_ops.kernel.models import Showroom
from maintenance.models import DueTask
from maintenance.queries.gas_tasks import due_clock
from maintenance.schedule.lateness import DayRules, HarmClass, is_late


def due_tasks_listed(showroom: Showroom, at: datetime) -> QuerySet[Any]:
    """Due tasks that still count, by the moment they are due, with template and ``tank_code``."""
    then = Q(tank__codes__to_at=None) | Q(tank__codes__to_at__gt=at)
    begun = Q(tank__codes__from_at__lte=at, tank__codes__voided_at=None)
    rows: QuerySet[Any] = (
        DueTask.objects.of(showroom)
        .exclude(state="dropped")
        .select_related("template", "zone", "room")
        .annotate(code_then=FilteredRelation("tank__codes", condition=begun & then))
        .annotate(tank_code=F("code_then__code"))
        .order_by("due_at", "template__harm_class", "pk")
    )
    return rows


def is_task_late(showroom: Showroom, task: DueTask, at: datetime) -> bool:
    """Is it open, not put off, and past the time of its class?"""
    rests = task.rests_until_at is not None and task.rests_until_at > at
    if task.state != "open" or rests:
        return False
    rules = DayRules(showroom.tz, showroom.cut_off_hour)
    harm = HarmClass(task.template.harm_class)
    return is_late(harm, task.due_on, due_clock(task, showroom), rules, at)
