"""The tasks of a round: those of its day, and those that were put off to it; where the next one is.

A task put off to a day stands in the round of that day beside the day's own; where the same task is
due there anyway, that one stands for both.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from datetime import date, time, timedelta

from django.db.models import Q

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import instant
from inventory.queries.plans import PlanKey, Planned, planned_for_day
from maintenance.models import DueTask
from maintenance.queries.templates import rule_of
from maintenance.schedule.occurrences import Life, occurrences

AHEAD = timedelta(days=400)
"""So far the next date of a rule is looked for; every rule of the books comes once a year."""
GIVES = {"dose": "dose", "feed": "food"}
"""Kind of task, and the purpose of what it gives."""

TaskKey = tuple[str, str]
"""Key of the template, and of the subject."""


def tasks_of_round(
    showroom: Showroom, kind: str, on: date, subject: str, keys: Collection[int]
) -> dict[int, list[DueTask]]:
    """Tank or room -> its tasks of that kind of round on that day, worst class first; one query.

    subject : ``tank`` or ``room``.
    """
    from_at, to_at = (
        instant(day, time(showroom.cut_off_hour), showroom.tz)
        for day in (on, on + timedelta(days=1))
    )
    put_off = Q(due_on__lt=on, state="open", rests_until_at__gte=from_at, rests_until_at__lt=to_at)
    rows = list(
        DueTask.objects.of(showroom)
        .filter(Q(due_on=on) | put_off, template__round_kind=kind)
        .filter(**{f"{subject}_id__in": keys})
        .exclude(state="dropped")
        .select_related("template")
        .order_by("template__harm_class", "-due_on", "pk")
    )
    found: dict[int, list[DueTask]] = defaultdict(list)
    taken: set[TaskKey] = {_key(row) for row in rows if row.due_on == on}
    for row in rows:
        if row.due_on != on:
            if _key(row) in taken:
                continue
            taken.add(_key(row))
        found[getattr(row, f"{subject}_id")].append(row)
    return found


def planned_then(
    showroom: Showroom, tasks: dict[int, list[DueTask]], on: date
) -> dict[PlanKey, Planned]:
    """What was planned on the days from which a dose or food was put off; one query a day."""
    days: dict[date, dict[str, set[int]]] = defaultdict(lambda: defaultdict(set))
    for tank_id, rows in tasks.items():
        for row in rows:
            purpose = GIVES.get(row.template.kind)
            if row.due_on != on and purpose:
                days[row.due_on][purpose].add(tank_id)
    found: dict[PlanKey, Planned] = {}
    for day, wanted in days.items():
        tanks = set().union(*wanted.values())
        for key, planned in planned_for_day(showroom, day, tank_ids=tanks).items():
            if key[0] in wanted.get(key[1], ()):
                found[key] = planned
    return found


def next_dates(
    showroom: Showroom, tasks: Collection[DueTask], on: date, flooded: dict[int, date | None]
) -> dict[int, date]:
    """Due task -> the day on which it comes up next when it is not needed today; one query.

    A task that counts from done counts from `on`, as if it had been done. Where no later day is
    laid out yet, the rule says the day. One that ends with its layout has no next day.
    """
    counting = [row for row in tasks if row.template.counts_from != "done"]
    laid_out: dict[TaskKey, date] = {}
    ahead = (
        DueTask.objects.of(showroom)
        .filter(due_on__gt=on, template_id__in={row.template_id for row in counting})
        .filter(subject_key__in={row.subject_key for row in counting})
        .exclude(state="dropped")
        .order_by("due_on")
        .values_list("template__key", "subject_key", "due_on")
    )
    for key, subject, due_on in ahead:
        laid_out.setdefault((key, subject), due_on)
    found: dict[int, date] = {}
    for row in tasks:
        known = laid_out.get(_key(row)) if row.template.counts_from != "done" else None
        day = known or _by_rule(showroom, row, on, flooded.get(row.tank_id or 0))
        if day is not None:
            found[row.pk] = day
    return found


def _by_rule(showroom: Showroom, row: DueTask, on: date, flooded_on: date | None) -> date | None:
    life = Life(flooded_on=flooded_on, last_done_on=on)
    first = on + timedelta(days=1)
    coming = occurrences(rule_of(row.template), life, first, on + AHEAD, zone=showroom.tz)
    return coming[0].due_on if coming else None


def _key(row: DueTask) -> TaskKey:
    return (row.template.key, row.subject_key)


def late_day(row: DueTask, on: date) -> date:
    """The day from which lateness of class A counts: one that was put off counts for that day."""
    return max(row.due_on, on) if row.template.harm_class == "A" else row.due_on
