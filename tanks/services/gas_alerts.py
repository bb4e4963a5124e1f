"""Where does the water say that there is too little gas, or that pH swings too far with it?

Kept as open alerts. A drop checker is believed from two hours after the lamps went on, while they
shine; the last word that counts holds until the next one that counts, so that a blue of the next
morning, which is right, closes nothing. Too much gas (yellow) is told by ``reading_alerts``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from datetime import datetime, timedelta
from typing import Any

from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from gallery_ops.kernel.values.day import local
from tanks.models import Equipment, Layout, Reading, TankCode
from tanks.queries.equipment import figure
from tanks.queries.gates import own_limits
from tanks.science.drop_checker import (
    USUAL_LIGHT_H,
    PhAt,
    Swing,
    counts,
    lit_h,
    shows_too_little,
    swing,
)
from tanks.science.gate_list import limit_of
from tanks.science.interlocks import Hours

KIND = "gas_sign"
LOOK_BACK = timedelta(days=7)
"""What was read longer ago tells nothing of today. Common practice, no source."""
CLASSES = {"too_little": "C", "ph_swing": "B"}
"""Too little starves plants; a swing is for the animals. Common practice, no source."""


class Lights:
    """When the lamps of each tank shine; one query.

    Without a timer they are taken to shine from the opening of the doors on, and the alert says so.
    """

    def __init__(self, showroom: Showroom, tank_ids: Collection[int]) -> None:
        self.showroom = showroom
        self.rows: dict[int, list[Equipment]] = defaultdict(list)
        lamps = Equipment.objects.of(showroom).filter(kind="light", tank_id__in=list(tank_ids))
        for row in lamps.order_by("from_at", "pk"):
            self.rows[row.tank_id].append(row)

    def hours(self, tank_id: int, at: datetime) -> tuple[Hours, bool]:
        """The timer at that moment, and whether somebody wrote it down."""
        long_h = USUAL_LIGHT_H
        for row in self.rows[tank_id]:
            if row.from_at <= at and (row.to_at is None or row.to_at > at):
                on_h, off_h = figure(row, "on_h"), figure(row, "off_h")
                if on_h is not None and off_h is not None:
                    return Hours(on_h, off_h), True
                long_h = figure(row, "hours_per_day") or long_h
        opens = self.showroom.opens_at
        begin = opens.hour + opens.minute / 60
        return Hours(begin, (begin + long_h) % 24), False

    def shone_h(self, row: Reading) -> float | None:
        """How long they had shone when it was read [h]; None in the dark or where it says so."""
        if row.light_phase == "off":
            return None
        clock = local(row.done_at_corrected, self.showroom.tz)
        hours, _is_known = self.hours(row.tank_id, row.done_at_corrected)
        return lit_h(clock.hour + clock.minute / 60, hours)


def review(*, showroom: Showroom, at: datetime) -> None:
    """Make the open alerts what was read; five queries and those of ``sync_alerts``."""
    layouts = {
        row.tank_id: row
        for row in Layout.objects.of(showroom).filter(voided_at=None, has_co2=True).still()
    }
    codes = dict(
        TankCode.objects.of(showroom).filter(voided_at=None).at(at).values_list("tank_id", "code")
    )
    own = own_limits(showroom)
    after_h, most = limit_of("checker_after_h", own), limit_of("ph_swing", own)
    lights = Lights(showroom, layouts)
    wanted: dict[str, Wanted] = {}
    for (tank_id, key), rows in sorted(_readings(showroom, layouts, at).items()):
        if tank_id not in codes:
            continue
        code = codes[tank_id]
        if key == "ph":
            found = swing([_ph(row, lights) for row in rows])
            if found is not None and found.size > most:
                wanted[f"{code}:ph_swing"] = _swings(code, found, most)
            continue
        told = [row for row in rows if counts(lights.shone_h(row), after_h)][-1:]
        for row in told:
            if shows_too_little(row.word, lights.shone_h(row), after_h):
                wanted[f"{code}:too_little"] = _too_little(code, row, lights, after_h)
    sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)


def _readings(
    showroom: Showroom, layouts: dict[int, Layout], at: datetime
) -> dict[tuple[int, str], list[Reading]]:
    """(Tank, ph or drop_checker) -> what was read in the layout that stands, oldest first."""
    found: dict[tuple[int, str], list[Reading]] = defaultdict(list)
    for row in (
        Reading.objects.of(showroom)
        .standing()
        .filter(
            tank_id__in=list(layouts),
            parameter__key__in=("ph", "drop_checker"),
            done_at_corrected__gt=at - LOOK_BACK,
            done_at_corrected__lte=at,
        )
        .select_related("parameter", "person")
        .order_by("done_at_corrected", "pk")
    ):
        is_exact = row.parameter.key != "ph" or (row.value is not None and row.qualifier == "=")
        if is_exact and row.done_at_corrected >= layouts[row.tank_id].from_at:
            found[(row.tank_id, row.parameter.key)].append(row)
    return found


def _ph(row: Reading, lights: Lights) -> PhAt:
    is_lit = row.light_phase == "on" or lights.shone_h(row) is not None
    return PhAt(row.done_at_corrected, float(row.value or 0), is_lit, row.method)


def _too_little(code: str, row: Reading, lights: Lights, after_h: float) -> Wanted:
    shone = lights.shone_h(row) or 0
    because = {
        "found": "too_little",
        "at": row.done_at_corrected.isoformat(),
        "by": row.person.name,
        "shone_h": round(shone, 1),
        "after_h": after_h,
        "is_timer_known": lights.hours(row.tank_id, row.done_at_corrected)[1],
    }
    said = _("%(tank)s: drop checker blue %(n)s h into the light, too little CO2.")
    return _alert(code, said % {"tank": code, "n": f"{shone:.1f}".removesuffix(".0")}, because)


def _swings(code: str, found: Swing, most: float) -> Wanted:
    because = {
        "found": "ph_swing",
        "dark": found.dark.ph,
        "dark_at": found.dark.at.isoformat(),
        "lit": found.lit.ph,
        "lit_at": found.lit.at.isoformat(),
        "size": found.size,
        "limit": most,
        "method": found.lit.method,
    }
    said = _("%(tank)s: pH swings by %(n)s between dark and light.")
    return _alert(code, said % {"tank": code, "n": f"{found.size:g}"}, because)


def _alert(code: str, sentence: str, because: dict[str, Any]) -> Wanted:
    return Wanted(
        harm_class=CLASSES[because["found"]],
        subject_kind="tank",
        subject_key=code,
        sentence=sentence,
        because=[{"what": "gas_sign", **because}],
    )
