"""Which skips must a manager know of? Those that somebody else has to mend, three in a row, claims.

A claim is a dose or food that somebody is said to have given, and nobody entered: the books hold
more than the bottle. It is asked about until it is entered, for some days.

A skip stands in the way of its task until the task is done; then its alert closes by itself.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime, timedelta

from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from gallery_ops.kernel.values.day import business_day
from inventory.models import Use
from maintenance.models import DueTask, Skip
from maintenance.services.skips import CLAIM, PURPOSES
from tanks.models import TankCode

KIND = "skip"
TELL = ("needs_skill", "out_of_stock", "tool_broken", "danger", "no_supply")
"""Reasons that another person has to mend (common practice, no source)."""
IN_A_ROW = 3
CLAIMED_FOR = timedelta(days=2)
"""So long a claim is asked about (common practice, no source)."""
LOOK_BACK = timedelta(days=30)


def review(showroom: Showroom, at: datetime) -> None:
    """Make the open alerts about skips what the last thirty days say."""
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    codes = dict(
        TankCode.objects.of(showroom).filter(voided_at=None).at(at).values_list("tank_id", "code")
    )
    skips = list(
        Skip.objects.of(showroom)
        .standing()
        .filter(due_task__due_on__gt=today - LOOK_BACK)
        .select_related("due_task__template", "person")
        .order_by("due_task__due_on", "pk")
    )
    wanted: dict[str, Wanted] = {}
    for row in skips:
        task = row.due_task
        if row.reason in TELL and task.state == "open":
            wanted[f"{task.pk}"] = _alert(row, codes, 1)
    for row in _claims(showroom, skips, at):
        wanted[f"claim:{row.due_task_id}"] = _alert(row, codes, 1)
    for key, run in _runs(showroom, skips).items():
        if len(run) >= IN_A_ROW:
            wanted[f"row:{key}"] = _alert(run[-1], codes, len(run))
    sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)


def _claims(showroom: Showroom, skips: list[Skip], at: datetime) -> list[Skip]:
    """Said to be given, and nothing of it in the books that day; at most one query."""
    rows = [
        row
        for row in skips
        if row.reason == "already_done"
        and row.links_to.startswith(CLAIM)
        and row.due_task.template.kind in PURPOSES
        and row.entered_at > at - CLAIMED_FOR
    ]
    if not rows:
        return []
    given = set(
        Use.objects.of(showroom)
        .standing()
        .filter(tank_id__in={row.due_task.tank_id for row in rows}, given_base__gt=0)
        .filter(business_on__in={row.due_task.due_on for row in rows})
        .values_list("tank_id", "purpose", "business_on")
    )
    return [
        row
        for row in rows
        if (row.due_task.tank_id, PURPOSES[row.due_task.template.kind], row.due_task.due_on)
        not in given
    ]


def _runs(showroom: Showroom, skips: list[Skip]) -> dict[str, list[Skip]]:
    """Template and subject -> the skips since it was last done, one a due task."""
    if not skips:
        return {}
    by_task: dict[int, Skip] = {row.due_task_id: row for row in skips}
    pairs = {(row.due_task.template_id, row.due_task.subject_key) for row in skips}
    runs: dict[str, list[Skip]] = defaultdict(list)
    settled = DueTask.objects.of(showroom).filter(
        template_id__in={template for template, _subject in pairs},
        subject_key__in={subject for _template, subject in pairs},
        due_on__gte=min(row.due_task.due_on for row in skips),
    )
    for task in settled.order_by("due_on", "pk"):
        key = f"{task.template_id}:{task.subject_key}"
        if task.state == "done":
            runs[key] = []
        elif task.pk in by_task and by_task[task.pk].reason != "tank_empty":
            runs[key].append(by_task[task.pk])
    return runs


def _alert(row: Skip, codes: dict[int, str], times: int) -> Wanted:
    task = row.due_task
    code = codes.get(task.tank_id or 0, "")
    name = f"{task.template.name} {code}".strip()
    reason = str(row.get_reason_display())
    if times >= IN_A_ROW:
        sentence = _("%(task)s was skipped %(n)s times in a row, last: %(reason)s.") % {
            "task": name,
            "n": times,
            "reason": reason,
        }
    elif row.links_to.startswith(CLAIM):
        sentence = _("%(task)s is said to be done by %(who)s, and nobody entered it.") % {
            "task": name,
            "who": row.text,
        }
    else:
        sentence = _("%(task)s was skipped: %(reason)s.") % {"task": name, "reason": reason}
    return Wanted(
        harm_class=task.template.harm_class,
        subject_kind="tank" if code else "task",
        subject_key=code or task.template.key,
        sentence=sentence[:300],
        because=[
            {
                "what": "skip_of_task",
                "on": task.due_on,
                "reason": reason,
                "words": row.text,
                "by": row.person.given_name,
                "times": times,
            }
        ],
    )
