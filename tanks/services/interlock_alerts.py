"""Which lamps, gas timers, heaters and filters do not fit? Kept as open alerts until they do."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime

from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from tanks.models import Equipment, Layout
from tanks.queries.equipment import flows_now, known_of
from tanks.queries.tanks import TankNow, fleet
from tanks.science.interlocks import Found, found

KIND = "interlock"
CLASSES = {
    "gas_after_light": "A",
    "gas_long_before": "B",
    "low_flow": "B",
    "light_without_gas": "C",
    "weak_heater": "C",
}
"""What it harms: animals first, then the planting. Common practice, no source."""


def review(*, showroom: Showroom, at: datetime) -> None:
    """Make the open alerts what is written down now; a handful of queries, however many tanks."""
    pieces: dict[int, list[Equipment]] = defaultdict(list)
    for row in Equipment.objects.of(showroom).still():
        pieces[row.tank_id].append(row)
    flows = flows_now(showroom)
    wanted: dict[str, Wanted] = {}
    for now in fleet(showroom, at):
        if now.layout is None or not pieces[now.tank.pk]:
            continue
        known = known_of(
            pieces[now.tank.pk],
            flows,
            has_co2=_has_co2(now.layout),
            water_l=float(now.volumes.working_l),
        )
        for one in found(known):
            wanted[f"{now.code}:{one.what}"] = _wanted(now, one)
    sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)


def _has_co2(layout: Layout) -> bool:
    return bool(layout.has_co2)


def _wanted(now: TankNow, one: Found) -> Wanted:
    said = {
        "light_without_gas": _("%(tank)s: the lamps shine %(n)s h a day without gas."),
        "gas_after_light": _("%(tank)s: gas runs %(n)s h after the lamps are off."),
        "gas_long_before": _("%(tank)s: gas runs %(n)s h before the lamps go on."),
        "weak_heater": _("%(tank)s: the heater warms only %(n)s K an hour at full power."),
        "low_flow": _("%(tank)s: the filter gives %(n)s %% of its clean flow."),
    }[one.what]
    number = one.is_so * 100 if one.what == "low_flow" else one.is_so
    digits = 0 if one.what == "low_flow" else 2
    return Wanted(
        harm_class=CLASSES[one.what],
        subject_kind="tank",
        subject_key=now.code,
        sentence=said % {"tank": now.code, "n": f"{round(number, digits):g}"},
        because=[
            {
                "what": "interlock",
                "found": one.what,
                "is_so": round(one.is_so, 3),
                "limit": round(one.limit, 3),
            }
        ],
    )
