"""An emergency: opened, joined, its place said, its lines done, and over.

Each deed writes one tap, a fact, and then makes the row of the emergency what all its taps say
(:mod:`maintenance.schedule.incident`). So a step that arrives before the opening begins the
emergency itself, and the result is the same in any order, however often a tap arrives and however
many tablets tapped. Whoever may record may do all of it: nobody looks for a right in the first
minute.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Unpack
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Held, Refused, Unknown
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.audit import record_audit
from gallery_ops.kernel.services.facts import Said, fact_columns
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.text import clean_text
from maintenance.models import Completion, DueTask, Incident, IncidentStep
from maintenance.queries.cards import cards
from maintenance.queries.incidents import stopped_by, tap_of
from maintenance.schedule.cards import Card
from maintenance.schedule.incident import Course, course, seconds_to_each_line, stops_where
from maintenance.services.completions import complete
from maintenance.services.given_alerts import SAYS
from maintenance.services.incident_alerts import review
from tanks.models import Room, Tank

DRILL = "first_minute_drill"
LONGEST_LINE = 300
LONGEST_NAME = 120
STEPS = ("joined", "place", "done", "out", "rung", "wrote")
NEEDS_TEXT = {"out": _("Who"), "rung": _("Number"), "wrote": _("Line")}


@dataclass(frozen=True, slots=True)
class Emergency:
    """Which emergency a tap belongs to. Each tap says all of it, since any may come first."""

    uid: UUID
    card: str
    is_drill: bool = False


@dataclass(frozen=True, slots=True)
class Where:
    """A place as it was said: one tank, one room, or the whole gallery."""

    tank: Tank | None = None
    room: Room | None = None

    @property
    def kind(self) -> str:
        """`tank`, `room` or `gallery`."""
        return "tank" if self.tank else "room" if self.room else "gallery"


def open_incident(
    *,
    showroom: Showroom,
    emergency: Emergency,
    by: Membership,
    at: datetime,
    where: Where | None = None,
    **said: Unpack[Said],
) -> Incident:
    """A card was opened: its clock runs from here. Opened twice, it is one emergency."""
    tap = {"kind": "opened", **_place(where)}
    return _tap(showroom, emergency, tap, by, at, said)


def step_incident(
    *,
    showroom: Showroom,
    emergency: Emergency,
    kind: str,
    by: Membership,
    at: datetime,
    line: int | None = None,
    text: str = "",
    where: Where | None = None,
    **said: Unpack[Said],
) -> Incident:
    """Somebody joined, said the place, did a line, came out, was rung, or a line was written.

    Raises Refused for a line that the card has not, and for words that are missing or too long.
    """
    if kind not in STEPS:
        raise Refused("unknown_step", _("A card has no such step."))
    if kind == "place" and where is None:
        raise Refused("no_place", _("Say a tank, a room or the whole gallery."))
    if kind == "done":
        _check_line(emergency, line)
    tap = {
        "kind": kind,
        "line": line if kind in {"done", "out"} else None,
        "text": _words(kind, text),
        **_place(where if kind == "place" else None),
    }
    return _tap(showroom, emergency, tap, by, at, said)


def close_incident(
    *,
    showroom: Showroom,
    emergency: Emergency,
    by: Membership,
    at: datetime,
    decided_by: str = "",
    was_nothing: bool = False,
    **said: Unpack[Said],
) -> Incident:
    """It is over, by whose word; or it was nothing, which is kept all the same.

    Raises Refused ``no_name`` where nobody is named who decided, or for gas who measured.
    """
    name = _clean(decided_by, _("Who decided"), LONGEST_NAME)
    if not name and not was_nothing:
        sentence = (
            _("Write the name of the competent person who measured and released the room.")
            if _card(emergency.card).is_released
            else _("Write the name of who decided that it is over.")
        )
        raise Refused("no_name", sentence, {"decided_by": sentence})
    tap = {"kind": "nothing" if was_nothing else "over", "text": name}
    return _tap(showroom, emergency, tap, by, at, said)


def refuse_while_stopped(*, showroom: Showroom, tank: Tank, moment: datetime) -> None:
    """Nothing is given at a tank while an emergency is open there.

    moment : when it was given. Raises Held ``stopped``: the entry is kept for a person, who may say
    that it was given all the same.
    """
    found = stopped_by(showroom, tank, moment)
    if found is None:
        return
    when = found.opened_at.astimezone(showroom.tz)
    raise Held(
        "stopped",
        _("%(who)s opened “%(card)s” at %(when)s: nothing is given here until it is over.")
        % {"who": found.opened_by, "card": found.name, "when": f"{when:%H:%M}"},
        remedy=_("It is kept. If it was given all the same, somebody who may correct says so."),
    )


@transaction.atomic
def _tap(
    showroom: Showroom,
    emergency: Emergency,
    tap: dict[str, Any],
    by: Membership,
    at: datetime,
    said: Said,
) -> Incident:
    require(by, "record", in_=showroom)
    card = _card(emergency.card)
    columns = fact_columns(showroom, by, at, said)
    row = _lock(showroom, emergency, by, columns["done_at_corrected"])
    known = (
        said.get("action_id") is not None
        and IncidentStep.objects.filter(incident=row, action_id=said["action_id"]).exists()
    )
    if not known:
        IncidentStep.objects.create(incident=row, **tap, **columns)
        _settle(row, card)
        _tell(row, tap, by, at)
        if tap["kind"] == "over" and row.is_drill:
            _drilled(row, by, at, said)
        review(showroom, at)
        want_work(showroom, "overdue", at=at)
        if tap["kind"] in SAYS:
            want_work(showroom, "given_stopped", at=at)
    return row


def _lock(showroom: Showroom, emergency: Emergency, by: Membership, at: datetime) -> Incident:
    """The row, made where this is its first tap. Nobody else settles it meanwhile."""
    try:
        with transaction.atomic():
            row, _made = Incident.objects.get_or_create(
                uid=emergency.uid,
                showroom=showroom,
                defaults={
                    "card": emergency.card,
                    "is_drill": emergency.is_drill,
                    "opened_at": at,
                    "opened_by": by.person,
                },
            )
    except IntegrityError:
        raise Unknown("emergency") from None
    locked: Incident = Incident.objects.select_for_update(of=("self",)).get(pk=row.pk)
    if (locked.card, locked.is_drill) != (emergency.card, emergency.is_drill):
        raise Held(
            "other_card",
            _("This tap names another card than the emergency it belongs to."),
            remedy=_("It is kept. Somebody who was there says what happened."),
        )
    return locked


def _settle(row: Incident, card: Card) -> Course:
    """Make the row what its taps say."""
    found = course(tap_of(step) for step in IncidentStep.objects.standing().filter(incident=row))
    kind, place_id = found.place
    row.opened_at, row.opened_by_id = found.opened_at, found.opened_by
    row.tank_id = place_id if kind == "tank" else None
    row.room_id = place_id if kind == "room" else None
    row.stops = stops_where(card.stops, found.place)
    row.closed_at, row.closed_by_id = found.closed_at, found.closed_by or None
    row.decided_by, row.was_nothing = found.decided_by, found.was_nothing
    row.save()
    return found


def _tell(row: Incident, tap: dict[str, Any], by: Membership, at: datetime) -> None:
    if tap["kind"] not in SAYS:
        return
    record_audit(
        showroom=row.showroom,
        by=by,
        at=at,
        deed=f"incident.{tap['kind']}",
        subject_kind="incident",
        subject_key=str(row.uid),
        after={
            "card": row.card,
            "stops": row.stops,
            "drill": row.is_drill,
        },
        reason=str(tap.get("text") or ""),
    )


def _drilled(row: Incident, by: Membership, at: datetime, said: Said) -> None:
    """A drill that was brought to its end completes the drill's task, with seconds to each line."""
    task = (
        DueTask.objects.of(row.showroom)
        .filter(template__key=DRILL, state="open")
        .select_related("template", "showroom")
        .order_by("due_at", "pk")
        .first()
    )
    told = Completion.objects.of(row.showroom).filter(due_task__template__key=DRILL)
    if task is None or told.filter(answers__incident=str(row.uid)).exists():
        return
    found = course(tap_of(step) for step in IncidentStep.objects.standing().filter(incident=row))
    lasted = (found.closed_at or at) - found.opened_at
    complete(
        due_task=task,
        by=by,
        at=at,
        minutes=max(1, round(lasted.total_seconds() / 60)),
        answers={
            "incident": str(row.uid),
            "card": row.card,
            "seconds_to_each_step": seconds_to_each_line(found),
        },
        **said,
    )


def _place(where: Where | None) -> dict[str, Any]:
    if where is None:
        return {}
    return {"place": where.kind, "tank": where.tank, "room": where.room}


def _card(key: str) -> Card:
    found = next((card for card in cards("en") if card.key == key), None)
    if found is None:
        raise Refused("unknown_card", _("There is no card of this name."))
    return found


def _check_line(emergency: Emergency, line: int | None) -> None:
    last = len(_card(emergency.card).lines)
    if line is None or not 1 <= line <= last:
        sentence = _("Line: the card has lines 1 to %(last)d.") % {"last": last}
        raise Refused("unknown_line", sentence, {"line": sentence})


def _words(kind: str, text: str) -> str:
    named = NEEDS_TEXT.get(kind)
    if named is None:
        return ""
    words = _clean(text, str(named), LONGEST_LINE)
    if not words:
        sentence = _("%(field)s: write it, in at most 300 characters.") % {"field": named}
        raise Refused("no_words", sentence, {"text": sentence})
    return words


def _clean(text: str, field: str, longest: int) -> str:
    try:
        return clean_text(text, field=field, longest=longest)
    except OutOfRange as error:
        raise Refused.from_range(error, field="text") from None
