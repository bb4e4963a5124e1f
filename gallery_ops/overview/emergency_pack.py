"""What does a tablet need of emergencies, so that a card works there without a network?

Which are open and what was tapped in them, which rooms there are with what hangs in them, who is at
work by the rota, and the number to ring first. Constant in queries.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from gallery_ops.overview.first_minute import Hanging, hanging
from maintenance.models import Incident, IncidentStep
from maintenance.queries import cards as catalogue
from maintenance.queries.incidents import incidents
from maintenance.queries.rota import who_is_here
from tanks.models import Room
from tanks.queries.tanks import TankNow, fleet

Json = dict[str, Any]


def emergency_part(
    showroom: Showroom, at: datetime, tanks: Sequence[TankNow] | None = None
) -> Json:
    """The part of a pack; `round_pack.schema.json` says what stands in it.

    tanks : the fleet, where it was read before.
    """
    tanks = fleet(showroom, at) if tanks is None else tanks
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    names = (person.name for person in who_is_here(showroom, today, at))
    return {
        "ring": {
            "name": _("Fire, ambulance"),
            "number": catalogue.emergency_number(showroom.country),
        },
        "at_work": list(dict.fromkeys(names)),
        "rooms": _rooms(showroom, tanks, hanging(showroom, at, tanks)),
        "open": open_now(showroom, tanks),
    }


def open_now(showroom: Showroom, tanks: Sequence[TankNow]) -> list[Json]:
    """Emergencies that are open, each with its taps. Two queries."""
    rows = list(incidents(showroom).filter(closed_at=None).order_by("opened_at", "pk"))
    codes = {row.tank.pk: row.code for row in tanks}
    taps: dict[int, list[Json]] = defaultdict(list)
    steps = (
        IncidentStep.objects.standing()
        .filter(incident__in=rows)
        .select_related("person", "room")
        .order_by("done_at_corrected", "pk")
    )
    for step in steps:
        taps[step.incident_id].append(_tap(step, codes))
    return [_open(row, taps[row.pk]) for row in rows]


def _open(row: Incident, taps: list[Json]) -> Json:
    return {"id": str(row.uid), "card": row.card, "drill": row.is_drill, "taps": taps}


def _tap(step: IncidentStep, codes: dict[int, str]) -> Json:
    return {
        "action_id": str(step.action_id or ""),
        "kind": step.kind,
        "line": step.line,
        "text": step.text,
        "place": _place(step, codes),
        "at": step.done_at_corrected.isoformat(),
        "by": step.person.name,
    }


def _place(step: IncidentStep, codes: dict[int, str]) -> Json | None:
    if not step.place:
        return None
    if step.place == "tank":
        return {"kind": "tank", "key": codes.get(step.tank_id or 0, "")}
    return {"kind": step.place, "key": str(step.room.uid) if step.room else None}


def _rooms(showroom: Showroom, tanks: Sequence[TankNow], hang: Sequence[Hanging]) -> list[Json]:
    rows = Room.objects.of(showroom).filter(voided_at=None, retired_at=None)
    return [
        {
            "id": str(room.uid),
            "name": room.name,
            "tanks": [
                row.code for row in tanks if row.position and row.position.room_id == room.pk
            ],
            "hanging": [hanging_words(one) for one in hang if one.room == room.name],
        }
        for room in rows.order_by("walking_order", "pk")
    ]


def hanging_words(one: Hanging) -> str:
    """As it is said to the crew on the telephone."""
    count = ngettext(
        "%(count)d cylinder of carbon dioxide, %(fill)s",
        "%(count)d cylinders of carbon dioxide, %(fill)s each",
        one.count,
    ) % {"count": one.count, "fill": one.fill}
    return _("%(count)s, at %(tanks)s") % {"count": count, "tanks": ", ".join(one.tanks)}
