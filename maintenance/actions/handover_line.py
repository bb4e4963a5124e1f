"""One line for whoever comes next; reads that arrived before it are taken in now."""

from __future__ import annotations

import json
from datetime import date, datetime, time, timedelta
from uuid import UUID

from gallery_ops.kernel.errors import Held, Refused
from gallery_ops.kernel.models import Membership, Person
from gallery_ops.kernel.values.day import instant
from maintenance.actions.context import Said
from maintenance.actions.handover_read import NOT_HERE
from maintenance.models import Action, HandoverLine
from maintenance.services import action_log
from maintenance.services.handover import hand_over, read_line
from tanks.models import Tank
from tanks.queries.glasses import glass_then
from tanks.queries.tanks import tank_by_code

FURTHEST = timedelta(days=366)


def apply(said: Said) -> None:
    """Keep it."""
    body = said.body
    source = " ".join(part for part in (body["source"], body["entry"]) if part)
    line = hand_over(
        showroom=said.showroom,
        kind=body["line"],
        text=body["text"].strip(),
        tank=_tank(said),
        round_=said.round_or_none(),
        by_at=_by_at(said),
        source=source[:80],
        handed_to=_handed_to(said),
        **said.moments(),
    )
    _take_in_reads(said, line)


def _tank(said: Said) -> Tank | None:
    stop = said.stop_or_none()
    if stop is not None:
        return glass_then(stop.tank, said.done_at_corrected) if stop.tank else None
    code = said.body["tank"]
    return tank_by_code(said.showroom, code, said.done_at_corrected).tank if code else None


def _handed_to(said: Said) -> Person | None:
    wanted = said.body["handed_to"]
    if not wanted:
        return None
    try:
        uid = UUID(wanted)
    except ValueError:
        raise _nobody() from None
    member = (
        Membership.objects.of(said.showroom)
        .at(said.done_at_corrected)
        .filter(person__uid=uid)
        .select_related("person")
        .first()
    )
    if member is None:
        raise _nobody()
    person: Person = member.person
    return person


def _nobody() -> Held:
    return Held(
        "unknown",
        "There is no such person here.",
        remedy="It is kept. Hand it over to somebody who works here.",
    )


def _by_at(said: Said) -> datetime | None:
    """The end of that local day, or that hour of it."""
    text = said.body["by"]
    if not text:
        return None
    showroom = said.showroom
    day, _, hour = text.partition("T")
    try:
        on = date.fromisoformat(day)
        moment = time.fromisoformat(hour) if hour else None
    except ValueError:
        on, moment = date.min, None
    if not said.at.date() - FURTHEST <= on <= said.at.date() + FURTHEST:
        allowed = "Allowed: a day of the calendar within a year, with or without an hour."
        raise Refused("bad_by", f"Do by: {text} is no such day.", {"by": allowed})
    if moment is None:
        return instant(on + timedelta(days=1), time(showroom.cut_off_hour), showroom.tz)
    return instant(on, moment, showroom.tz)


def _take_in_reads(said: Said, line: HandoverLine) -> None:
    """A tablet may have sent "read" before another one sent the line."""
    wanted = str(said.envelope.action_id)
    rows = (
        Action.objects.of(said.showroom)
        .filter(kind="handover_read", verdicts__code=NOT_HERE, canonical__contains=wanted)
        .distinct()
        .order_by("done_at_corrected", "pk")
    )
    for row in rows:
        verdict = action_log.last_verdict(row)
        if verdict is None or (verdict.outcome, verdict.code) != ("held", NOT_HERE):
            continue
        raw = json.loads(row.canonical)
        member = said.names.member(raw["person_id"], row.done_at_corrected) or _member(said, row)
        if raw["body"]["line"] != wanted or member is None:
            continue
        read_line(
            line=line,
            by=member,
            at=said.at,
            done_at=row.done_at,
            done_at_corrected=min(row.done_at_corrected, said.at),
            device=row.device,
            action_id=row.action_id,
        )
        action_log.say(action=row, outcome="accepted", at=said.at)


def _member(said: Said, row: Action) -> Membership | None:
    moment: datetime = min(row.done_at_corrected or said.at, said.at)
    found: Membership | None = (
        Membership.objects.of(said.showroom)
        .at(moment)
        .filter(person=row.person)
        .select_related("person", "showroom")
        .first()
    )
    return found
