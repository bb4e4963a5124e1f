"""Which handovers has nobody read an hour after the next shift began?

Counted from the latest of three moments: when the line was written, when it arrived here, and when
the shift of whoever it is for begins. Before that nobody could have read it. Where no later shift
is in the books nobody can say when it begins: then it counts from the line, and is told too early
rather than never.

A line for a person is read when that person said so, or a manager or owner, who then sees to it; a
line for the next shift when anybody but its author did. The alert closes by itself.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.queries.people import members
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from gallery_ops.kernel.values.day import local
from maintenance.models import Shift
from maintenance.queries.handover import LineRow, lines_between

KIND = "handover"
UNREAD_FOR = timedelta(minutes=60)
LOOK_BACK = timedelta(days=14)
"""An older line is history; whoever wants it finds it on its page (common practice, no source)."""
NEXT_SHIFT_WITHIN = timedelta(days=4)
"""A shift further away is not the next one after this line (common practice, no source)."""
SENIOR = ("manager", "owner")
NAMED_LINES = 20


def review(showroom: Showroom, at: datetime) -> None:
    """Make the open alerts about unread handovers what the last fourteen days say."""
    lines = lines_between(showroom, at - LOOK_BACK, at + timedelta(seconds=1))
    seniors = frozenset(
        members(showroom, at).filter(role__in=SENIOR).values_list("person_id", flat=True)
    )
    shifts = list(
        Shift.objects.of(showroom)
        .filter(voided_at=None, to_at__gt=at - LOOK_BACK, from_at__lt=at + NEXT_SHIFT_WITHIN)
        .order_by("from_at", "pk")
        .values_list("person_id", "from_at", "to_at")
    )
    groups: dict[str, list[LineRow]] = defaultdict(list)
    for line in lines:
        if not is_read(line, seniors) and counts_from(line, shifts) + UNREAD_FOR <= at:
            day = local(line.at, showroom.tz).date()
            groups[f"{line.round_code or day}:{line.from_id}:{line.to_id or ''}"].append(line)
    wanted = {key: _alert(showroom, group) for key, group in groups.items()}
    sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)


def is_read(line: LineRow, seniors: frozenset[int]) -> bool:
    """Does somebody know of it who will see to it?"""
    readers = {reader for reader, _name, _at in line.readers} - {line.from_id}
    if line.to_id is None:
        return bool(readers)
    return line.to_id in {*readers, line.from_id} or bool(readers & seniors)


def counts_from(line: LineRow, shifts: list[tuple[int, datetime, datetime]]) -> datetime:
    """From when somebody could have read it."""
    mine = (
        from_at
        for person, from_at, to_at in shifts
        if to_at > line.at
        and from_at < line.at + NEXT_SHIFT_WITHIN
        and (person == line.to_id if line.to_id else person != line.from_id)
    )
    return max(line.at, line.entered_at, next(mine, line.at))


def _alert(showroom: Showroom, group: list[LineRow]) -> Wanted:
    first = group[0]
    sentence = ngettext(
        "%(n)d line that %(who)s handed over to %(to)s on %(when)s is not read.",
        "%(n)d lines that %(who)s handed over to %(to)s on %(when)s are not read.",
        len(group),
    ) % {
        "n": len(group),
        "who": first.from_name,
        "to": first.to_name or _("the next shift"),
        "when": f"{local(first.at, showroom.tz):%a %H:%M}",
    }
    return Wanted(
        harm_class="B",
        subject_kind="handover",
        subject_key=str(local(first.at, showroom.tz).date()),
        sentence=sentence[:300],
        because=[
            {
                "what": "handover_line",
                "tank": line.tank,
                "text": line.text,
                "kind": line.word,
                "at": local(line.at, showroom.tz).isoformat(),
            }
            for line in group[:NAMED_LINES]
        ],
    )
