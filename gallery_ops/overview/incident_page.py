"""An emergency on a desk: the card while it runs, its timeline afterwards, and all of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.uuid7 import uuid7
from gallery_ops.overview.desk import act
from maintenance.models import DueTask, Incident
from maintenance.queries import incidents as asked
from maintenance.queries.cards import cards
from maintenance.queries.given_stopped import Given, given_while_stopped
from maintenance.queries.incidents import DRIFT_S, LATE_S, SHOWN, Line
from maintenance.schedule.cards import Card
from maintenance.schedule.incident import Course
from tanks.models import Room
from tanks.queries.tanks import TankNow, fleet


@dataclass(frozen=True, slots=True)
class Step:
    """One line of the timeline in words. drift : the tablet's own clock, where it was wrong."""

    at: datetime
    words: str
    who: str
    device: str
    entered_at: datetime | None
    drift: datetime | None


@dataclass(frozen=True, slots=True)
class Paused:
    """What rested at one tank."""

    code: str
    tasks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GivenThen:
    """Something that was given while giving was stopped. late : it was entered so late."""

    code: str
    given: Given
    late: datetime | None


@dataclass(frozen=True, slots=True)
class IncidentPage:
    """One emergency. minutes : how long, until now while it is open."""

    row: Incident
    card: Card | None
    where: str
    steps: tuple[Step, ...]
    minutes: int
    paused: tuple[Paused, ...]
    course: Course | None
    given: tuple[GivenThen, ...] = ()

    @property
    def stopped_anything(self) -> bool:
        """Something rested while it was open."""
        return bool(self.row.stops) and not self.row.is_drill


@dataclass(frozen=True, slots=True)
class IncidentRow:
    """One emergency on the list."""

    row: Incident
    name: str
    where: str
    minutes: int


@dataclass(slots=True)
class Running:
    """A card at a desk: its open emergency, or the id under which the first tap will open one."""

    uid: str
    row: Incident | None = None
    is_mine: bool = False
    is_drill: bool = False
    where: str = ""
    lines: dict[int, datetime] = field(default_factory=dict)
    out: dict[str, datetime] = field(default_factory=dict)
    rung: dict[str, datetime] = field(default_factory=dict)
    places: list[tuple[str, str]] = field(default_factory=list)
    others: list[IncidentRow] = field(default_factory=list)
    taps: int = 0


def running(
    by: Membership, key: str, at: datetime, *, of: str = "", is_drill: bool = False
) -> Running:
    """The emergency of this card that is open, or the one that is named; 9 queries."""
    showroom = by.showroom
    tanks = fleet(showroom, at)
    rows = list(asked.incidents(showroom).filter(closed_at=None))
    mine = [row for row in rows if row.card == key and row.is_drill == is_drill]
    row = next((row for row in mine if str(row.uid) == of), None) if of else next(iter(mine), None)
    if of and row is None:
        return Running(uid=of, is_drill=is_drill, places=_places(showroom, tanks))
    known = asked.names(_language(by))
    others = [
        IncidentRow(one, known.get(one.card, one.card), _where(one, tanks), _minutes(one, at))
        for one in rows
        if one is not row
    ]
    found = Running(
        uid=str(row.uid) if row else str(uuid7(at)),
        row=row,
        is_drill=row.is_drill if row else is_drill,
        places=_places(showroom, tanks),
        others=others,
    )
    if row is not None:
        course = asked.courses([row])[row.pk]
        found.is_mine = by.person_id in course.people
        found.where = _where(row, tanks)
        found.lines, found.out = course.lines, course.out
        found.rung = {number: times[-1] for number, times in course.rung.items()}
        found.taps = len(asked.timeline(row))
    return found


def deed(
    *, by: Membership, card: str, uid: str, what: str, given: dict[str, str], at: datetime
) -> None:
    """One press on a card's page. what : `open`, `line:3`, `ring:112`, `out:Iskra`, `place`, ...

    Raises Refused with words.
    """
    is_drill = given.get("drill") == "1"
    common: dict[str, Any] = {"incident": uid, "card": card, "drill": is_drill}
    if not Incident.objects.of(by.showroom).filter(uid=_uid(uid)).exists():
        act(by=by, kind="incident_open", body={**common, "place": None}, at=at)
    name, _colon, value = what.partition(":")
    if name in {"over", "nothing"}:
        body = {**common, "how": name, "decided_by": given.get("decided_by", "")[:120] or None}
        act(by=by, kind="incident_close", body=body, at=at)
    elif name != "open":
        act(by=by, kind="incident_step", body={**common, **_step(name, value, given)}, at=at)


def _step(name: str, value: str, given: dict[str, str]) -> dict[str, Any]:
    empty = {"line": None, "text": None, "place": None}
    if name == "line" and value.isdigit() and 1 <= int(value) <= 7:
        return {**empty, "step": "done", "line": int(value)}
    if name == "join":
        return {**empty, "step": "joined"}
    if name == "ring":
        return {**empty, "step": "rung", "text": value[:300]}
    if name == "out":
        return {**empty, "step": "out", "text": value[:300]}
    if name == "write":
        return {**empty, "step": "wrote", "text": given.get("text", "")[:300]}
    if name == "place":
        kind, _colon, key = given.get("place", "").partition(":")
        place = {"kind": kind, "key": key or None} if kind in {"tank", "room", "gallery"} else None
        return {**empty, "step": "place", "place": place}
    raise Refused("unknown_step", _("A card has no such step."))


def incident_page(showroom: Showroom, uid: UUID, at: datetime, language: str) -> IncidentPage:
    """One emergency with its timeline. Raises Unknown."""
    row = asked.incident(showroom, uid)
    tanks = fleet(showroom, row.opened_at)
    card = next((one for one in cards(language) if one.key == row.card), None)
    codes = {one.tank.pk: one.code for one in tanks}
    lines = asked.timeline(row)
    return IncidentPage(
        row=row,
        card=card,
        where=_where(row, tanks),
        steps=tuple(_said(line, card, codes) for line in lines),
        minutes=_minutes(row, at),
        paused=tuple(_paused(row, tanks, at)),
        course=asked.courses([row]).get(row.pk),
        given=tuple(
            GivenThen(codes.get(one.tank_id, ""), one, _late(one.at, one.entered_at))
            for one in given_while_stopped(showroom, [row]).get(row.pk, [])
        ),
    )


def incident_rows(showroom: Showroom, at: datetime, language: str) -> list[IncidentRow]:
    """All, newest first."""
    tanks = fleet(showroom, at)
    known = asked.names(language)
    return [
        IncidentRow(row, known.get(row.card, row.card), _where(row, tanks), _minutes(row, at))
        for row in asked.incidents(showroom)[:SHOWN]
    ]


def _paused(row: Incident, tanks: Sequence[TankNow], at: datetime) -> list[Paused]:
    """Routine tasks that were due while it was open and not done before. One query."""
    if not row.stops or row.is_drill:
        return []
    showroom, until = row.showroom, row.closed_at or at
    here = {one.tank.pk: one.code for one in tanks if _holds(row, one)}
    tasks = (
        DueTask.objects.of(showroom)
        .filter(
            tank_id__in=list(here),
            due_on__lte=business_day(until, showroom.tz, showroom.cut_off_hour),
            due_on__gte=business_day(row.opened_at, showroom.tz, showroom.cut_off_hour),
            due_at__lte=until + timedelta(days=1),
        )
        .exclude(state__in=["dropped", "skipped"])
        .exclude(completions__done_at_corrected__lt=row.opened_at)
        .select_related("template")
        .order_by("due_at", "template__name")
    )
    found: dict[str, list[str]] = defaultdict(list)
    for task in tasks:
        names = found[here[task.tank_id]]
        if task.template.name not in names:
            names.append(task.template.name)
    return [Paused(code, tuple(found.get(code, ()))) for code in here.values()]


def _holds(row: Incident, tank: TankNow) -> bool:
    if row.stops == "tank":
        return tank.tank.pk == row.tank_id
    if row.stops == "room":
        return tank.position is not None and tank.position.room_id == row.room_id
    return True


def _said(line: Line, card: Card | None, codes: dict[int, str]) -> Step:
    lines = card.lines if card else ()
    text = lines[line.line - 1].text if line.line and line.line <= len(lines) else ""
    place = codes.get(line.tank_id or 0) or line.room_name or _("the whole gallery")
    words = {
        "opened": _("card opened"),
        "joined": _("joined"),
        "place": place,
        "done": f"{line.line}. {text}",
        "out": _("%(name)s is out") % {"name": line.text},
        "rung": _("rung %(number)s") % {"number": line.text},
        "wrote": line.text,
        "nothing": _("it was nothing"),
        "over": _("it is over, decided by %(name)s") % {"name": line.text},
    }[line.kind]
    drifted = abs((line.said_at - line.at).total_seconds()) >= DRIFT_S
    return Step(
        at=line.at,
        words=words,
        who=line.who,
        device=line.device,
        entered_at=line.entered_at if line.is_late else None,
        drift=line.said_at if drifted else None,
    )


def _late(at: datetime, entered_at: datetime) -> datetime | None:
    return entered_at if (entered_at - at).total_seconds() > LATE_S else None


def _places(showroom: Showroom, tanks: Sequence[TankNow]) -> list[tuple[str, str]]:
    rooms = Room.objects.of(showroom).filter(voided_at=None, retired_at=None)
    return [
        *((f"tank:{one.code}", f"{one.code} {one.title}".strip()) for one in tanks if one.position),
        *((f"room:{room.uid}", room.name) for room in rooms.order_by("walking_order", "pk")),
        ("gallery", _("the whole gallery")),
    ]


def _where(row: Incident, tanks: Sequence[TankNow]) -> str:
    if row.tank_id:
        return next((one.code for one in tanks if one.tank.pk == row.tank_id), "")
    if row.room:
        return row.room.name
    return _("the whole gallery") if row.stops == "gallery" else ""


def _minutes(row: Incident, at: datetime) -> int:
    return max(0, round(((row.closed_at or at) - row.opened_at).total_seconds() / 60))


def _language(by: Membership) -> str:
    return by.person.language or by.showroom.language


def _uid(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise Refused("unknown", _("There is no such emergency here.")) from None
