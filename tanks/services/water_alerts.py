"""Which water goes towards a limit, and where will ammonia burn tonight? Kept as open alerts.

A trend asks for a person when it reaches its alarm limit within six weeks. Readings of the layout
that stands now are looked at, and only those that can be compared (``tanks.science.drift``).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from gallery_ops.kernel.values.day import business_day
from tanks.models import Layout, Parameter, Reading, TankCode
from tanks.queries.readings import Ranges, all_ranges
from tanks.science.ammonia import as_nitrogen
from tanks.science.ammonia_tonight import PhRead, Tonight, tonight
from tanks.science.drift import Read, Trend, judge

DRIFT, AMMONIA = "water_drift", "ammonia"
WATCHED = ("temperature", "ph", "kh", "gh", "nitrate", "phosphate", "conductivity")
LOOK_BACK = timedelta(days=120)
AHEAD_DAYS = 42.0
SOON_DAYS = 7.0
AMMONIA_OF = timedelta(days=7)
"""An ammonia older than this tells nothing of tonight. Common practice, no source."""
USUAL_DEGC = 25.0
"""Taken where no temperature was read; the alert says so."""
CLASSES = {"emergency": "A", "act": "A", "watch": "B"}

OfTank = Mapping[str, list[Reading]]
Asked = dict[tuple[int, str], tuple[Parameter, Ranges]]


def review(*, showroom: Showroom, at: datetime) -> None:
    """Make the open alerts about drift and ammonia what the readings say.

    Five queries, however many tanks, and those of ``sync_alerts`` twice.
    """
    layouts = {
        row.tank_id: row for row in Layout.objects.of(showroom).filter(voided_at=None).still()
    }
    codes = dict(
        TankCode.objects.of(showroom).filter(voided_at=None).at(at).values_list("tank_id", "code")
    )
    ranges = all_ranges(showroom, {tank_id: row.style for tank_id, row in layouts.items()})
    drifts: dict[str, Wanted] = {}
    burning: dict[str, Wanted] = {}
    for tank_id, of_tank in sorted(_readings(showroom, layouts, at).items()):
        if tank_id not in codes:
            continue
        code = codes[tank_id]
        for key in WATCHED:
            found = _drift(showroom, code, of_tank.get(key, []), ranges.get((tank_id, key)))
            if found is not None:
                drifts[f"{code}:{key}"] = found
        risk = _ammonia(showroom, code, of_tank, at)
        if risk is not None:
            burning[code] = risk
    sync_alerts(showroom=showroom, kind=DRIFT, wanted=drifts, at=at)
    sync_alerts(showroom=showroom, kind=AMMONIA, wanted=burning, at=at)


def _readings(
    showroom: Showroom, layouts: Mapping[int, Layout], at: datetime
) -> dict[int, dict[str, list[Reading]]]:
    """Tank -> parameter -> standing numbers of the layout that stands, oldest first."""
    rows = (
        Reading.objects.of(showroom)
        .standing()
        .filter(
            tank_id__in=list(layouts),
            parameter__key__in=[*WATCHED, "ammonia_n"],
            done_at_corrected__gt=at - LOOK_BACK,
            done_at_corrected__lte=at,
            value__isnull=False,
        )
        .select_related("parameter")
        .order_by("done_at_corrected", "pk")
    )
    found: dict[int, dict[str, list[Reading]]] = defaultdict(lambda: defaultdict(list))
    for row in rows:
        if row.done_at_corrected >= layouts[row.tank_id].from_at:
            found[row.tank_id][row.parameter.key].append(row)
    return found


def _drift(
    showroom: Showroom,
    code: str,
    rows: list[Reading],
    asked: tuple[Parameter, Ranges] | None,
) -> Wanted | None:
    if not rows or asked is None:
        return None
    parameter, ranges = asked
    drift = judge(
        [_read(row) for row in rows],
        step=parameter.step,
        low=ranges.alarm_low,
        high=ranges.alarm_high,
    )
    trend = drift.trend
    if trend is None or trend.days_to_limit is None or trend.days_to_limit > AHEAD_DAYS:
        return None
    last = rows[-1]
    reaches = last.done_at_corrected + timedelta(days=trend.days_to_limit)
    on = business_day(reaches, showroom.tz, showroom.cut_off_hour)
    said = _("%(tank)s: %(what)s falls, and reaches %(limit)s %(unit)s on %(on)s.")
    if trend.per_week > 0:
        said = _("%(tank)s: %(what)s rises, and reaches %(limit)s %(unit)s on %(on)s.")
    words = {
        "tank": code,
        "what": parameter.name,
        "limit": f"{trend.limit:g}",
        "unit": parameter.unit_text,
        "on": date_format(on, "j F"),
    }
    return Wanted(
        harm_class="B" if trend.days_to_limit <= SOON_DAYS else "C",
        subject_kind="tank",
        subject_key=code,
        sentence=" ".join((said % words).split()),
        because=[_because(trend, parameter, last, on.isoformat())],
    )


def _because(trend: Trend, parameter: Parameter, last: Reading, on: str) -> dict[str, Any]:
    return {
        "what": "water_trend",
        "parameter": parameter.name,
        "unit": parameter.unit_text,
        "per_week": round(trend.per_week, 4),
        "now": round(trend.now, 4),
        "limit": trend.limit,
        "on": on,
        "n": trend.count,
        "over_days": round(trend.over_days),
        "method": last.method,
        "lot": last.reagent_lot,
    }


def _ammonia(showroom: Showroom, code: str, of_tank: OfTank, at: datetime) -> Wanted | None:
    newest = of_tank.get("ammonia_n", [])[-1:]
    if not newest or newest[0].done_at_corrected < at - AMMONIA_OF or newest[0].qualifier == "<":
        return None
    row = newest[0]
    warm = of_tank.get("temperature", [])[-1:]
    degc = float(warm[0].value or USUAL_DEGC) if warm else USUAL_DEGC
    total = float(as_nitrogen(float(row.value or 0), row.basis or "N"))
    risk = tonight(total, [_ph(one) for one in of_tank.get("ph", [])], degc=degc, day=_day(at))
    if risk is None or not risk.level:
        return None
    return Wanted(
        harm_class=CLASSES[risk.level],
        subject_kind="tank",
        subject_key=code,
        sentence=_(
            "%(tank)s: at tonight's highest pH of %(ph)s ammonia that burns gills reaches "
            "%(mg)s mg/L as N."
        )
        % {"tank": code, "ph": f"{risk.ph:g}", "mg": f"{risk.un_ionised_mg_n_per_l:.3f}"},
        because=[_burns(risk, total, degc, row, bool(warm), showroom)],
    )


def _burns(
    risk: Tonight, total: float, degc: float, row: Reading, is_warm_read: bool, showroom: Showroom
) -> dict[str, Any]:
    return {
        "what": "ammonia_tonight",
        "level": risk.level,
        "un_ionised": round(risk.un_ionised_mg_n_per_l, 4),
        "total": round(total, 4),
        "ph": risk.ph,
        "has_night": risk.has_night,
        "degc": degc,
        "degc_read": is_warm_read,
        "on": business_day(row.done_at_corrected, showroom.tz, showroom.cut_off_hour).isoformat(),
    }


def _read(row: Reading) -> Read:
    return Read(
        day=_day(row.done_at_corrected),
        value=float(row.value or 0),
        light_phase=row.light_phase,
        method=row.method,
        reagent_lot=row.reagent_lot,
        at_limit=row.qualifier != "=",
    )


def _ph(row: Reading) -> PhRead:
    return PhRead(_day(row.done_at_corrected), float(row.value or 0), row.light_phase == "off")


def _day(at: datetime) -> float:
    return at.timestamp() / 86_400
