"""Which emergencies are open, what do they stop, and what was done in one of them?"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Q, QuerySet

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from maintenance.models import Incident, IncidentStep
from maintenance.queries.cards import cards
from maintenance.schedule.incident import Course, Tap, course
from tanks.models import Placement, Tank


@dataclass(frozen=True, slots=True)
class Stopping:
    """An emergency that is open, and where it stops giving, feeding and routine tasks."""

    uid: str
    card: str
    name: str
    opened_at: datetime
    opened_by: str
    stops: str
    tank_id: int | None
    room_id: int | None
    is_drill: bool

    def holds(self, tank_id: int | None, room_id: int | None) -> bool:
        """It stops what belongs to this tank, or to this room."""
        if self.is_drill or not self.stops:
            return False
        if self.stops == "tank":
            return tank_id is not None and tank_id == self.tank_id
        if self.stops == "room":
            return room_id is not None and room_id == self.room_id
        return True


@dataclass(frozen=True, slots=True)
class Line:
    """One tap for the eye: when it was done and when it came."""

    kind: str
    line: int | None
    text: str
    who: str
    device: str
    at: datetime
    said_at: datetime
    entered_at: datetime
    is_late: bool
    tank_id: int | None
    room_name: str


LATE_S = 300
"""A tap that came so much later than it was done is shown as entered late [s] (common practice, no
source)."""
DRIFT_S = 5
"""From this difference on the tablet's own time is shown beside the corrected one [s]."""
SHOWN = 200
"""So many emergencies on the list; older ones by the page of their day."""


def incidents(showroom: Showroom) -> QuerySet[Incident]:
    """All, newest first."""
    found: QuerySet[Incident] = (
        Incident.objects.of(showroom)
        .select_related("opened_by", "closed_by", "tank", "room")
        .order_by("-opened_at", "-pk")
    )
    return found


def incident(showroom: Showroom, uid: UUID | str) -> Incident:
    """One. Raises Unknown."""
    found = incidents(showroom).filter(uid=uid).first()
    if found is None:
        raise Unknown("emergency")
    return found


def open_incidents(showroom: Showroom, language: str = "en") -> list[Stopping]:
    """Those that nobody has closed, oldest first, drills among them. One query."""
    rows = incidents(showroom).filter(closed_at=None).order_by("opened_at", "pk")
    return [stopping(row, names(language)) for row in rows]


def stopped_by(showroom: Showroom, tank: Tank, moment: datetime) -> Stopping | None:
    """The emergency that stopped giving and feeding at this tank at that moment, the earliest.

    It counts what was so then, whenever it is asked. Two queries where nothing was open.
    """
    rows = list(
        incidents(showroom)
        .filter(Q(closed_at=None) | Q(closed_at__gt=moment), opened_at__lte=moment)
        .filter(is_drill=False)
        .exclude(stops="")
        .order_by("opened_at", "pk")
    )
    if not rows:
        return None
    room_id = rooms_of(showroom, moment, [tank.pk]).get(tank.pk)
    known = names("en")
    found = (stopping(row, known) for row in rows)
    return next((one for one in found if one.holds(tank.pk, room_id)), None)


def rooms_of(
    showroom: Showroom, moment: datetime, tank_ids: Collection[int] | None = None
) -> dict[int, int]:
    """In which room each tank stood then. One query."""
    rows = Placement.objects.of(showroom).filter(voided_at=None).at(moment)
    if tank_ids is not None:
        rows = rows.filter(tank_id__in=tank_ids)
    return dict(rows.values_list("tank_id", "position__room_id"))


def stopping(row: Incident, known: dict[str, str]) -> Stopping:
    """An incident as what it stops."""
    return Stopping(
        uid=str(row.uid),
        card=row.card,
        name=known.get(row.card, row.card),
        opened_at=row.opened_at,
        opened_by=row.opened_by.name,
        stops=row.stops,
        tank_id=row.tank_id,
        room_id=row.room_id,
        is_drill=row.is_drill,
    )


def names(language: str) -> dict[str, str]:
    """Card -> its name."""
    return {card.key: card.name for card in cards(language)}


def tap_of(step: IncidentStep) -> Tap:
    """A stored tap as the pure room reads it."""
    return Tap(
        at=step.done_at_corrected,
        key=str(step.action_id or step.pk),
        kind=step.kind,
        line=step.line,
        text=step.text,
        person=step.person_id,
        place=step.place,
        place_id=step.tank_id or step.room_id or 0,
    )


def courses(rows: Iterable[Incident]) -> dict[int, Course]:
    """What the taps of each say, by key. One query for all."""
    found: dict[int, list[Tap]] = {row.pk: [] for row in rows}
    for step in IncidentStep.objects.standing().filter(incident_id__in=found):
        found[step.incident_id].append(tap_of(step))
    return {key: course(taps) for key, taps in found.items() if taps}


def timeline(row: Incident) -> list[Line]:
    """Each tap with its second, by whom, on what, and whether it came late. One query."""
    steps = (
        IncidentStep.objects.standing()
        .filter(incident=row)
        .select_related("person", "device", "room")
        .order_by("done_at_corrected", "action_id", "pk")
    )
    return [_line(step) for step in steps]


def _line(step: IncidentStep) -> Line:
    return Line(
        kind=step.kind,
        line=step.line,
        text=step.text,
        who=step.person.name,
        device=step.device.name if step.device else "",
        at=step.done_at_corrected,
        said_at=step.done_at,
        entered_at=step.entered_at,
        is_late=(step.entered_at - step.done_at_corrected).total_seconds() > LATE_S,
        tank_id=step.tank_id,
        room_name=step.room.name if step.room else "",
    )
