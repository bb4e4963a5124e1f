"""The handover at a desk: drafted by the tablet's rules, written by the same door, read here."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Held, Refused, Unknown
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.queries.people import members
from gallery_ops.kernel.values.day import business_day, day_bounds
from maintenance.actions.desk import Deed, say_all_at_desk
from maintenance.models import Round
from maintenance.queries.handover import (
    LineRow,
    days_with_lines,
    due_for,
    lines_between,
    unread_by,
)
from maintenance.queries.round_pack import round_pack
from maintenance.schedule.handover_draft import Line, draft_lines, quick_stops
from tanks.queries.tanks import tank_by_code

DAYS = 7
"""So many days of handovers stand on one page."""
OWN = 3
"""So many lines of one's own can be added in one go."""
KINDS = ("changed", "worry", "do")
LONGEST = 280


@dataclass(frozen=True, slots=True)
class Left:
    """What the shift before left for one person. mark : changes when any of it does."""

    unread: list[LineRow]
    due: list[LineRow]
    mark: str


@dataclass(frozen=True, slots=True)
class Draft:
    """What would be handed over now. people : (uid, name) of whom it can be handed to."""

    lines: list[Line]
    quick: list[str]
    people: list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class History:
    """Handovers day by day, newest first. earlier : where the next page begins, None at the end."""

    unread: list[LineRow]
    days: list[tuple[date, list[LineRow]]]
    earlier: date | None


def left_for(you: Membership, at: datetime) -> Left:
    """What this person has not read yet, and what is to be done today."""
    unread, due = unread_by(you, at), due_for(you, at)
    said = "|".join([*(row.action_id for row in unread), "", *(row.action_id for row in due)])
    return Left(unread, due, hashlib.sha256(said.encode()).hexdigest()[:12])


def draft_for(round_: Round, you: Membership, at: datetime) -> Draft:
    """Lines of this round as they would be drafted on a tablet."""
    pack = round_pack(you.showroom, round_, you, at)
    here = members(you.showroom, at).exclude(role="guest_designer")
    people = [
        (str(row.person.uid), row.person.name) for row in here if row.person_id != you.person_id
    ]
    return Draft(draft_lines(pack), quick_stops(pack), people)


def close_and_hand_over(
    *, round_: Round, by: Membership, typed: Mapping[str, str], shown: list[str], at: datetime
) -> int:
    """Close the round with the lines that stay; gives how many.

    Parameters
    ----------
    typed : ``text <entry>`` and ``kind <entry>`` of a drafted line, where an empty text takes it
        out; ``own tank 1``, ``own kind 1``, ``own text 1`` and so on; ``to``: a person, or nothing
    shown : entries whose lines stood on the page; a line drafted since then is not handed over

    Raises
    ------
    Refused
        with the field that cannot be
    """
    if round_.closed_at is not None:
        raise Refused("round_closed", _("This round is closed, and its lines are handed over."))
    lines = [line for line in draft_for(round_, by, at).lines if line.entry in shown]
    bodies = [
        _body(line.tank, _kind(typed, f"kind {line.entry}", line.kind), text, line, typed)
        for line in lines
        if (text := typed.get(f"text {line.entry}", line.text).strip())
    ]
    bodies += [body for n in range(1, OWN + 1) if (body := _own(by.showroom, typed, n, round_, at))]
    to = typed.get("to") or None
    uid = str(round_.uid)
    deeds = [Deed("handover_line", body, uid) for body in bodies]
    deeds.append(Deed("round_close", {"left_open": [], "hand_over_to": to}, uid))
    try:
        say_all_at_desk(deeds, by=by, at=at)
    except Held as no:
        raise Refused(no.code, no.sentence, no.fields, no.remedy) from no
    return len(bodies)


def read_lines(*, by: Membership, ids: list[str], at: datetime) -> int:
    """This person has read these lines; only those meant for them and not read count."""
    mine = [row.action_id for row in unread_by(by, at) if row.action_id in ids]
    try:
        say_all_at_desk([Deed("handover_read", {"line": uid}) for uid in mine], by=by, at=at)
    except Held as no:
        raise Refused(no.code, no.sentence, no.fields, no.remedy) from no
    return len(mine)


def history(you: Membership, at: datetime, before: date | None) -> History:
    """Seven days that have lines, newest first."""
    showroom = you.showroom
    _start, until = day_bounds(before, showroom.tz, showroom.cut_off_hour) if before else (at, at)
    days = days_with_lines(showroom, until, DAYS + 1)
    shown = days[:DAYS]
    lines: dict[date, list[LineRow]] = {day: [] for day in shown}
    if shown:
        start, _end = day_bounds(shown[-1], showroom.tz, showroom.cut_off_hour)
        _start, end = day_bounds(shown[0], showroom.tz, showroom.cut_off_hour)
        for row in lines_between(showroom, start, end):
            day = business_day(row.at, showroom.tz, showroom.cut_off_hour)
            if day in lines:
                lines[day].append(row)
    earlier = days[DAYS] if len(days) > DAYS else None
    return History(unread_by(you, at), list(lines.items()), earlier)


def _kind(typed: Mapping[str, str], field: str, before: str) -> str:
    kind = typed.get(field, before)
    return kind if kind in KINDS else before


def _own(
    showroom: Showroom, typed: Mapping[str, str], n: int, round_: Round, at: datetime
) -> dict[str, str | None] | None:
    text = typed.get(f"own text {n}", "").strip()
    if not text:
        return None
    code = typed.get(f"own tank {n}", "").strip()
    try:
        tank = tank_by_code(showroom, code, at).code if code else ""
    except Unknown:
        sentence = _("Tank %(code)s: there is none with that code here.") % {"code": code}
        remedy = _("Write a code as T05, or leave it empty for the whole gallery.")
        raise Refused("unknown_tank", sentence, {f"own tank {n}": remedy}, remedy) from None
    line = Line(tank, "worry", text, round_.business_on.isoformat(), "", "")
    return _body(tank, _kind(typed, f"own kind {n}", "worry"), text, line, typed)


def _body(
    tank: str, kind: str, text: str, line: Line, typed: Mapping[str, str]
) -> dict[str, str | None]:
    if len(text) > LONGEST:
        sentence = _("A line has at most %(n)d characters; this one has %(m)d.") % {
            "n": LONGEST,
            "m": len(text),
        }
        raise Refused("line_length", sentence, {f"text {line.entry}": sentence})
    return {
        "line": kind,
        "text": text,
        "tank": tank or None,
        "by": (line.by or typed.get("today") or None) if kind == "do" else None,
        "source": line.source or None,
        "entry": line.entry or None,
        "handed_to": typed.get("to") or None,
    }
