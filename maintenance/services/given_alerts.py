"""Was something given while an emergency had stopped giving there? A person is asked to look.

The card may have arrived after the dose: then the dose counts, since it was given, and this alert
says so. Nothing is asked about where a person already said that it was given all the same.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db.models import Max, Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import LONGEST_SENTENCE, Wanted, sync_alerts
from maintenance.models import Incident
from maintenance.queries.given_stopped import Given, given_while_stopped
from maintenance.queries.incidents import incidents, names
from tanks.models import TankCode

KIND = "given_stopped"
KEPT = timedelta(days=2)
"""How long it is asked about since both are known here (common practice, no source)."""
LOOK_BACK = timedelta(days=60)
"""Nothing that is older is taken in by itself, so nothing new follows from it."""
SAYS = ("opened", "place", "over", "nothing")
"""Taps that say from when to when, and where, giving is stopped."""
NAMED = 20


def review(showroom: Showroom, at: datetime) -> None:
    """One open alert for each emergency with something given in its time; closed after two days."""
    rows = list(
        incidents(showroom)
        .filter(Q(closed_at=None) | Q(closed_at__gt=at - LOOK_BACK), is_drill=False)
        .filter(was_nothing=False)
        .exclude(stops="")
        .annotate(known_at=Max("steps__entered_at", filter=Q(steps__kind__in=SAYS)))
    )
    found = given_while_stopped(showroom, rows)
    tanks = {gift.tank_id for gifts in found.values() for gift in gifts}
    codes = dict(
        TankCode.objects.of(showroom)
        .filter(voided_at=None, tank_id__in=tanks)
        .at(at)
        .values_list("tank_id", "code")
        if tanks
        else ()
    )
    cards = names(showroom.language)
    wanted = {}
    for row in rows:
        fresh = [gift for gift in found[row.pk] if _is_asked(row, gift, at)]
        if fresh:
            wanted[str(row.uid)] = _alert(row, fresh, codes, cards)
    sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)


def _is_asked(row: Incident, gift: Given, at: datetime) -> bool:
    known_at: datetime = max(gift.entered_at, getattr(row, "known_at", None) or row.opened_at)
    return not gift.let_pass_by and known_at > at - KEPT


def _alert(
    row: Incident, gifts: list[Given], codes: dict[int, str], cards: dict[str, str]
) -> Wanted:
    first, zone = gifts[0], row.showroom.tz
    sentence = _("%(tank)s: %(what)s at %(when)s by %(who)s, while “%(card)s” had stopped giving.")
    told = sentence % {
        "tank": codes.get(first.tank_id, "?"),
        "what": first.what,
        "when": f"{first.at.astimezone(zone):%H:%M}",
        "who": first.who,
        "card": cards.get(row.card, row.card),
    }
    if len(gifts) > 1:
        more = len(gifts) - 1
        told += " " + ngettext("And %(n)d more.", "And %(n)d more.", more) % {"n": more}
    return Wanted(
        harm_class="A" if row.closed_at is None else "B",
        subject_kind="incident",
        subject_key=str(row.uid),
        sentence=told[:LONGEST_SENTENCE],
        because=[
            {
                "what": KIND,
                "tank": codes.get(gift.tank_id, "?"),
                "given": gift.what,
                "by": gift.who,
                "at": gift.at.astimezone(zone).isoformat(),
            }
            for gift in gifts[:NAMED]
        ],
    )
