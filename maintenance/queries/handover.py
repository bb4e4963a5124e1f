"""What has the shift before left behind: for whom, read by whom, and what is due today?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Prefetch, Q

from gallery_ops.kernel.models import Membership, Person, Showroom
from gallery_ops.kernel.values.day import business_day, day_bounds, local
from maintenance.models import HandoverLine, HandoverRead
from tanks.models import TankCode

LATELY = timedelta(days=3)
"""So long a line is offered to be read (common practice, no source); the page keeps all of them."""
MOST = 60


@dataclass(frozen=True, slots=True)
class LineRow:
    """One line. to_name : empty for the next shift. until : last moment to do it, None for none.

    by_day : the business day on which it is due. readers : names with the moment, oldest first.
    """

    action_id: str
    kind: str
    word: str
    text: str
    tank: str
    at: datetime
    entered_at: datetime
    from_name: str
    from_id: int
    to_name: str
    to_id: int | None
    until: datetime | None
    by_day: date | None
    by_hour: str
    source: str
    round_name: str
    round_code: str
    readers: tuple[tuple[int, str, datetime], ...]

    def is_for(self, person: Person) -> bool:
        """Meant for this person: by name, or as one of the next shift."""
        return self.to_id == person.pk or (self.to_id is None and self.from_id != person.pk)

    def read_by(self, person: Person) -> bool:
        """Has this person said so?"""
        return any(reader == person.pk for reader, _name, _at in self.readers)


def lines_between(showroom: Showroom, from_at: datetime, to_at: datetime) -> list[LineRow]:
    """Lines that stand, oldest first; three queries."""
    rows = _rows(showroom).filter(done_at_corrected__gte=from_at, done_at_corrected__lt=to_at)
    return _made(showroom, rows.order_by("done_at_corrected", "pk"))


def lines_of_day(showroom: Showroom, on: date) -> list[LineRow]:
    """Those of one business day."""
    return lines_between(showroom, *day_bounds(on, showroom.tz, showroom.cut_off_hour))


def unread_by(you: Membership, at: datetime) -> list[LineRow]:
    """What is meant for this person and was not read by them, of the last three days."""
    person = you.person
    rows = (
        _rows(you.showroom)
        .filter(done_at_corrected__gt=at - LATELY, done_at_corrected__lte=at)
        .filter(Q(handed_to=person) | Q(handed_to=None) & ~Q(person=person))
        .exclude(reads__person=person)
        .order_by("done_at_corrected", "pk")[:MOST]
    )
    return _made(you.showroom, rows)


def due_for(you: Membership, at: datetime) -> list[LineRow]:
    """What somebody handed to this person, or to the next shift, to be done today."""
    showroom = you.showroom
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    start, end = day_bounds(today, showroom.tz, showroom.cut_off_hour)
    rows = (
        _rows(showroom)
        .filter(by_at__gt=start, by_at__lte=end)
        .filter(Q(handed_to=you.person) | Q(handed_to=None))
        .order_by("by_at", "done_at_corrected", "pk")[:MOST]
    )
    return _made(showroom, rows)


def days_with_lines(showroom: Showroom, before: datetime, most: int) -> list[date]:
    """The newest business days that have lines, newest first; looks at so many days at most."""
    moments = (
        HandoverLine.objects.of(showroom)
        .standing()
        .filter(done_at_corrected__lte=before)
        .order_by("-done_at_corrected")
        .values_list("done_at_corrected", flat=True)[:1000]
    )
    days = dict.fromkeys(business_day(m, showroom.tz, showroom.cut_off_hour) for m in moments)
    return list(days)[:most]


def line_json(row: LineRow) -> dict[str, Any]:
    """One line as the round pack holds it."""
    by = row.by_day.isoformat() if row.by_day else None
    return {
        "id": row.action_id,
        "line": row.kind,
        "text": row.text,
        "tank": row.tank or None,
        "by": f"{by}T{row.by_hour}" if by and row.by_hour else by,
        "from": row.from_name,
        "to": row.to_name or None,
        "at": row.at.isoformat(),
        "source": row.source or None,
    }


def _rows(showroom: Showroom) -> Any:
    return (
        HandoverLine.objects.of(showroom)
        .standing()
        .exclude(action_id=None)
        .select_related("person", "handed_to", "round__zone")
        .prefetch_related(
            Prefetch(
                "reads",
                HandoverRead.objects.select_related("person").order_by("done_at_corrected", "pk"),
            )
        )
    )


def _made(showroom: Showroom, rows: Iterable[HandoverLine]) -> list[LineRow]:
    found = list(rows)
    codes: dict[int, list[tuple[datetime, datetime | None, str]]] = {}
    tanks = {row.tank_id for row in found if row.tank_id}
    known = TankCode.objects.of(showroom).filter(voided_at=None, tank_id__in=tanks)
    for tank_id, from_at, to_at, code in known.values_list("tank_id", "from_at", "to_at", "code"):
        codes.setdefault(tank_id, []).append((from_at, to_at, code))
    return [_row(showroom, row, codes.get(row.tank_id or 0, [])) for row in found]


def _row(
    showroom: Showroom,
    row: HandoverLine,
    codes: list[tuple[datetime, datetime | None, str]],
) -> LineRow:
    at = row.done_at_corrected
    tank = next((c for start, end, c in codes if start <= at and (end is None or at < end)), "")
    by_day, by_hour = None, ""
    if row.by_at is not None:
        ends_with_day = local(row.by_at, showroom.tz).time().isoformat("minutes") == (
            f"{showroom.cut_off_hour:02}:00"
        )
        moment = row.by_at - timedelta(seconds=1) if ends_with_day else row.by_at
        by_day = business_day(moment, showroom.tz, showroom.cut_off_hour)
        by_hour = "" if ends_with_day else f"{local(row.by_at, showroom.tz):%H:%M}"
    return LineRow(
        action_id=str(row.action_id),
        kind=row.kind,
        word=str(row.get_kind_display()),
        text=row.text,
        tank=tank,
        at=at,
        entered_at=row.entered_at,
        from_name=row.person.name,
        from_id=row.person_id,
        to_name=row.handed_to.name if row.handed_to else "",
        to_id=row.handed_to_id,
        until=row.by_at,
        by_day=by_day,
        by_hour=by_hour,
        source=_without_id(row.source),
        round_name=f"{row.round.get_kind_display()}, {row.round.zone.code}" if row.round else "",
        round_code=row.round.code if row.round else "",
        readers=tuple((r.person_id, r.person.name, r.done_at_corrected) for r in row.reads.all()),
    )


def _without_id(source: str) -> str:
    """The words of a source; the id of its entry is for programs."""
    words, _, last = source.rpartition(" ")
    return words if len(last) == len("00000000-0000-0000-0000-000000000000") else source
