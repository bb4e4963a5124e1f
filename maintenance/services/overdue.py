"""What is late enough to be said, and is each of it said once?

Compares the open due tasks with the clock and makes the open alerts of kind `overdue` equal to what
is late by harm class: A from 30 minutes, B from 2 days, C from 7 days; D never, it stands in the
weekly list only. A round that was not walked is one alert that names its tanks, not one for each
tank. An alert closes by itself when its task is done, skipped, resting or no longer due.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Synced, Wanted, sync_alerts
from gallery_ops.kernel.values.day import business_day, local
from maintenance.queries.due import OpenTask, open_tasks
from maintenance.schedule.lateness import DayRules, HarmClass, late_at

KIND = "overdue"
NAMED_TANKS = 8
NAMED_LINES = 40


@dataclass(frozen=True, slots=True)
class Late:
    """An open task, and since when it counts late."""

    task: OpenTask
    since_at: datetime


def review(*, showroom: Showroom, at: datetime) -> Synced:
    """Open, bring up to date and close the overdue alerts."""
    late = late_tasks(showroom, open_tasks(showroom, at), at)
    return sync_alerts(showroom=showroom, kind=KIND, wanted=wanted_alerts(late), at=at)


def late_tasks(showroom: Showroom, tasks: list[OpenTask], at: datetime) -> list[Late]:
    """Those that count late at `at`, in the order of the day; class D never."""
    late = [Late(task, since) for task in tasks if (since := _since(showroom, task)) is not None]
    return [one for one in late if one.since_at <= at and not one.task.rests(at)]


def wanted_alerts(late: list[Late]) -> dict[str, Wanted]:
    """The alerts that should be open: one a round and class, one a task and subject otherwise."""
    groups: dict[str, list[Late]] = defaultdict(list)
    for one in late:
        groups[_cause(one.task)].append(one)
    return {cause: _alert(group) for cause, group in groups.items()}


def _since(showroom: Showroom, task: OpenTask) -> datetime | None:
    rules = DayRules(showroom.tz, showroom.cut_off_hour)
    due_on = task.due_on
    if task.rests_until_at is not None and task.harm_class == HarmClass.A:
        until = local(task.rests_until_at, task.zone_name)
        if (until.hour, until.minute) == (showroom.cut_off_hour, 0):
            # put off to a day: it is late for the hour of that day, not from its first minute
            due_on = max(due_on, business_day(until, showroom.tz, showroom.cut_off_hour))
    return late_at(HarmClass(task.harm_class), due_on, task.due_time, rules)


def _cause(task: OpenTask) -> str:
    if task.round_kind and _where(task):
        return f"{task.round_kind}:{task.due_on}:{task.harm_class}"
    return f"{task.template_key}:{task.subject_key}"


def _alert(group: list[Late]) -> Wanted:
    group = sorted(group, key=lambda one: (one.since_at, one.task.walk_order, one.task.name))
    first = group[0].task
    codes = list(dict.fromkeys(_where(one.task) for one in group if _where(one.task)))
    if first.round_kind and _where(first):
        subject_kind, subject_key = "round", f"{first.round_kind}:{first.due_on}"
        sentence = _round_sentence(group, codes)
    else:
        subject_kind = "tank" if first.tank_code else "task"
        subject_key = first.tank_code or first.template_key
        sentence = _task_sentence(first)
    return Wanted(
        harm_class=first.harm_class,
        subject_kind=subject_kind,
        subject_key=subject_key,
        sentence=sentence[:300],
        because=[_because(one) for one in group[:NAMED_LINES]],
    )


def _round_sentence(group: list[Late], codes: list[str]) -> str:
    names = ", ".join(dict.fromkeys(one.task.name for one in group))
    named = ", ".join(codes[:NAMED_TANKS])
    rest = len(codes) - NAMED_TANKS
    if rest > 0:
        more = ngettext("and %(count)d more", "and %(count)d more", rest) % {"count": rest}
        named = f"{named} {more}"
    return _("Not done: %(tasks)s at %(tanks)s. Due %(when)s.") % {
        "tasks": names,
        "tanks": named,
        "when": _when(group[0].task),
    }


def _where(task: OpenTask) -> str:
    return task.tank_code or task.place


def _task_sentence(task: OpenTask) -> str:
    where = _where(task)
    words = {"task": task.name, "where": where, "when": _when(task)}
    if where:
        return _("%(task)s at %(where)s is not done. Due %(when)s.") % words
    return _("%(task)s is not done. Due %(when)s.") % words


def _when(task: OpenTask) -> str:
    on = date_format(task.due_on, "D j F")
    return on if task.due_time is None else f"{on}, {task.due_time:%H:%M}"


def _because(one: Late) -> dict[str, Any]:
    task = one.task
    return {
        "what": "overdue_task",
        "task": task.name,
        "tank": task.tank_code or task.place,
        "harm_class": task.harm_class,
        "due_on": task.due_on.isoformat(),
        "due_at": local(task.due_at, task.zone_name).isoformat(),
        "late_since_at": local(one.since_at, task.zone_name).isoformat(),
    }
