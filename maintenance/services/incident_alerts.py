"""Is there an emergency open? One alert of class A for each, until it is over.

A drill raises none: nobody is called away from an animal by an exercise.
"""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from maintenance.models import Incident
from maintenance.queries.incidents import incidents, names
from tanks.models import TankCode

KIND = "incident"


def review(showroom: Showroom, at: datetime) -> None:
    """Make the open alerts about emergencies what their taps say."""
    rows = list(incidents(showroom).filter(closed_at=None, is_drill=False))
    codes = dict(
        TankCode.objects.of(showroom)
        .filter(voided_at=None, tank_id__in=[row.tank_id for row in rows if row.tank_id])
        .at(at)
        .values_list("tank_id", "code")
    )
    known = names(showroom.language)
    wanted = {str(row.uid): _alert(row, codes.get(row.tank_id or 0, ""), known) for row in rows}
    sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)


def _alert(row: Incident, code: str, known: dict[str, str]) -> Wanted:
    words = {
        "card": known.get(row.card, row.card),
        "where": code or (row.room.name if row.room else ""),
        "who": row.opened_by.given_name,
        "when": f"{row.opened_at.astimezone(row.showroom.tz):%H:%M}",
    }
    sentence = (
        _("%(card)s at %(where)s: %(who)s opened the card at %(when)s. It is not over.")
        if words["where"]
        else _("%(card)s: %(who)s opened the card at %(when)s. It is not over.")
    )
    return Wanted(
        harm_class="A",
        subject_kind="incident",
        subject_key=str(row.uid),
        sentence=(sentence % words)[:300],
        because=[{"what": "incident", "card": row.card, "opened_at": row.opened_at}],
    )
