"""Which templates hold on these days, and when was each task last done?"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from django.db.models import Max, Q

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from maintenance.models import Completion, Skip, SkipReason, TaskTemplate
from maintenance.schedule.lateness import HarmClass, Shift
from maintenance.schedule.occurrences import TaskRule

Name = tuple[str, str]
"""Template key and subject key, across versions."""


def templates_between(showroom: Showroom, first: date, last: date) -> list[TaskTemplate]:
    """Versions in force on any day from first to last, both included; one query."""
    in_force = Q(to_on__isnull=True) | Q(to_on__gt=first)
    rows = TaskTemplate.objects.of(showroom).filter(in_force, from_on__lte=last)
    return list(rows.order_by("key", "version"))


def rule_of(template: TaskTemplate) -> TaskRule:
    """The template's rule for the pure room."""
    return TaskRule(
        text=template.rule,
        counts_from=template.counts_from,
        harm=HarmClass(template.harm_class),
        start=template.from_on,
        end=template.to_on,
        from_day=template.from_day,
        to_day=template.to_day,
        is_spread=template.is_spread,
        shift=Shift(template.on_closed_day),
        on_clock_change_only=template.only_with == "clock_change",
    )


def last_done(showroom: Showroom, templates: Collection[TaskTemplate]) -> dict[Name, date]:
    """Business day on which each task that counts from done was last done or let pass for good.

    Two queries.
    """
    keys = {template.key for template in templates if template.counts_from == "done"}
    done = (
        Completion.objects.of(showroom)
        .standing()
        .filter(due_task__template__key__in=keys, due_task__state="done")
        .values_list("due_task__template__key", "due_task__subject_key")
        .annotate(newest=Max("done_at_corrected"))
        .order_by()
    )
    found = {
        (key, subject): business_day(newest, showroom.tz, showroom.cut_off_hour)
        for key, subject, newest in done
    }
    let_pass = (
        Skip.objects.of(showroom)
        .standing()
        .filter(due_task__template__key__in=keys, due_task__state__in=("skipped", "done"))
        .filter(reason__in=(SkipReason.NOT_NEEDED, SkipReason.ALREADY_DONE))
        .values_list("due_task__template__key", "due_task__subject_key")
        .annotate(newest=Max("done_at_corrected"))
        .order_by()
    )
    for key, subject, newest in let_pass:
        day = business_day(newest, showroom.tz, showroom.cut_off_hour)
        found[key, subject] = max(day, found.get((key, subject), day))
    return found
