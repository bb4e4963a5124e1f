"""Which rounds were walked so quickly that nobody can have looked? Told once, without a name.

The alert asks what stood in the way; it closes by itself when the day after is over.
"""

from __future__ import annotations

import json
from collections import defaultdict
from datetime import datetime, timedelta

from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from gallery_ops.kernel.values.day import business_day
from maintenance.models import Action, Round
from maintenance.queries.round_entries import PAPER
from maintenance.schedule.pace import QUICK, pace

KIND = "quick_round"
LOOK_BACK = timedelta(days=1)


def review(showroom: Showroom, at: datetime) -> None:
    """Make the open alerts about quick rounds what today's and yesterday's looks say; two queries
    and those of ``sync_alerts``.
    """
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    rounds = {
        row.code: row
        for row in Round.objects.of(showroom)
        .filter(business_on__gte=today - LOOK_BACK, business_on__lte=today)
        .exclude(closed_at=None)
        .select_related("zone")
    }
    looks = _looks(showroom, rounds) if rounds else {}
    wanted = {}
    for code, moments in sorted(looks.items()):
        told = pace(moments)
        if told is not None and told[0] < QUICK:
            wanted[code] = _alert(rounds[code], *told)
    sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)


def _looks(showroom: Showroom, rounds: dict[str, Round]) -> dict[str, list[tuple[datetime, str]]]:
    """Round code -> when which stop was found as it should be; what was typed from paper says
    nothing of the pace.
    """
    found: dict[str, list[tuple[datetime, str]]] = defaultdict(list)
    rows = Action.objects.of(showroom).filter(round_code__in=list(rounds), kind="check")
    for code, at, canonical in rows.values_list("round_code", "done_at_corrected", "canonical"):
        said = json.loads(canonical)
        if at is None or said["device_id"] == PAPER or not said.get("stop_id"):
            continue
        if said["body"]["value"] == "all_normal":
            found[code].append((at, said["stop_id"]))
    return found


def _alert(round_: Round, each: timedelta, stops: int) -> Wanted:
    seconds = round(each.total_seconds())
    words = {"round": str(round_.get_kind_display()).capitalize(), "zone": round_.zone.code}
    return Wanted(
        harm_class="D",
        subject_kind="round",
        subject_key=f"{round_.kind}:{round_.business_on}",
        sentence=_(
            "%(round)s of zone %(zone)s was quick: half of its stops took under %(s)s seconds, the "
            "way included. What stood in the way of looking?"
        )
        % {**words, "s": max(1, seconds + 1)},
        because=[
            {
                "what": "quick_round",
                "on": round_.business_on.isoformat(),
                "stops": stops,
                "seconds": seconds,
                "least_s": round(QUICK.total_seconds()),
            }
        ],
    )
