"""Was a tank dosed twice on one day, or far above its plan? The ledger is told the truth; we ask.

From twice the plan on it is a matter for the card of a wrong dose; below that only a question.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Count, Max, Q, Sum
from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.quantity import quantity
from inventory.models import Use
from tanks.models import TankCode
from tanks.queries.glasses import now_in, replaced

KIND = "double_dose"
KEPT = timedelta(days=2)
"""How long a second dose is asked about (common practice, no source)."""


def review(showroom: Showroom, at: datetime) -> None:
    """Make the open questions about second doses what the uses of the last days say."""
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    codes = dict(
        TankCode.objects.of(showroom).filter(voided_at=None).at(at).values_list("tank_id", "code")
    )
    wanted: dict[str, Wanted] = {}
    for row in _by_tank(showroom, today - KEPT):
        much = row["planned"] and row["given"] > 2 * row["planned"]
        if row["times"] < 2 and not much:
            continue
        code = codes.get(row["tank_id"], "?")
        given = quantity(row["item__dimension"], row["given"]).text()
        planned = quantity(row["item__dimension"], row["planned"]).text()
        key = f"{row['tank_id']}:{row['item_id']}:{row['business_on']}"
        wanted[key] = Wanted(
            harm_class="A" if much else "B",
            subject_kind="tank",
            subject_key=code,
            sentence=_("%(tank)s was given %(given)s of %(item)s in one day, planned %(planned)s.")
            % {"tank": code, "given": given, "item": row["item__name"], "planned": planned},
            because=[
                {
                    "what": "given_today",
                    "times": row["times"],
                    "on": row["business_on"],
                    "dimension": row["item__dimension"],
                    "given_base": row["given"],
                    "planned_base": row["planned"],
                }
            ],
        )
    sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)


def _by_tank(showroom: Showroom, after: date) -> list[dict[str, Any]]:
    """What each tank was given of each item on each day; its earlier glass counts to the last."""
    rows = (
        Use.objects.of(showroom)
        .standing()
        .filter(business_on__gt=after, purpose="dose", given_base__gt=0)
        .values("tank_id", "item_id", "item__name", "item__dimension", "business_on")
        .annotate(
            times=Count("pk", filter=~Q(answers__has_key="rest_of")),
            given=Sum("given_base"),
            planned=Max("planned_base"),
        )
        .order_by()
    )
    glasses = replaced(showroom)
    found: dict[tuple[int, int, date], dict[str, Any]] = {}
    for row in rows:
        tank_id = now_in(glasses, row["tank_id"])
        one = found.setdefault(
            (tank_id, row["item_id"], row["business_on"]),
            {**row, "tank_id": tank_id, "times": 0, "given": 0, "planned": 0},
        )
        one["times"] += row["times"]
        one["given"] += row["given"]
        one["planned"] = max(one["planned"], row["planned"])
    return list(found.values())
