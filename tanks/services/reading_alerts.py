"""Which last readings lie outside their range of alarm? Kept as open alerts until read anew.

The last standing reading of each parameter counts, of the layout that stands now; one that is back
in its range closes the alert, and so does emptying the tank. A room counts by its last figure.
"""

from __future__ import annotations

from datetime import datetime

from django.db.models import F, Window
from django.db.models.functions import RowNumber
from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from tanks.models import Layout, Parameter, Reading, RoomAirCheck, Stage, TankCode
from tanks.queries.readings import Ranges, all_ranges, latest_readings
from tanks.science.room_air import EIGHT_HOURS_PPM, FIFTEEN_MINUTES_PPM

KIND, AIR = "reading_alarm", "room_air_alarm"
CLASSES = {
    "temperature": "A",
    "drop_checker": "A",
    "floor": "A",
    "outflow": "A",
    "gas_valve": "A",
    "ammonia_n": "A",
    "nitrite": "A",
    "feeder": "B",
    "water_level": "B",
    "ph": "B",
    "kh": "B",
}
"""What a value outside its range harms; all others C. Common practice, no source."""
USUAL_CLASS = "C"
BEFORE_ANIMALS = {"ammonia_n", "nitrite"}
"""High in every start-up, before animals come: class C there. Common practice, no source."""


def review(*, showroom: Showroom, at: datetime) -> None:
    """Make the open alerts what the last readings say; six queries, however many tanks."""
    layouts = {
        row.tank_id: row for row in Layout.objects.of(showroom).filter(voided_at=None).still()
    }
    codes = dict(
        TankCode.objects.of(showroom).filter(voided_at=None).at(at).values_list("tank_id", "code")
    )
    ranges = all_ranges(showroom, {tank_id: row.style for tank_id, row in layouts.items()})
    wanted: dict[str, Wanted] = {}
    for (tank_id, key), row in sorted(latest_readings(showroom, layouts).items()):
        asked = ranges.get((tank_id, key))
        is_of_this_layout = row.done_at_corrected >= layouts[tank_id].from_at
        if tank_id not in codes or asked is None or not is_of_this_layout:
            continue
        if _is_alarming(row, *asked):
            harm = _class(key, layouts[tank_id].stage)
            wanted[f"{codes[tank_id]}:{key}"] = _wanted(codes[tank_id], harm, row, *asked)
    sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)
    sync_alerts(showroom=showroom, kind=AIR, wanted=_rooms(showroom), at=at)


def _is_alarming(row: Reading, parameter: Parameter, ranges: Ranges) -> bool:
    if row.word:
        return row.word in parameter.alarm_words
    if row.value is None:
        return False
    if row.qualifier == "<":  # it may be anything below: only a lower limit speaks
        return ranges.alarm_low is not None and row.value <= ranges.alarm_low
    return ranges.raises_alarm(row.value)


def _class(key: str, stage: str) -> str:
    if stage == Stage.START_UP and key in BEFORE_ANIMALS:
        return USUAL_CLASS
    return CLASSES.get(key, USUAL_CLASS)


def _wanted(
    code: str, harm_class: str, row: Reading, parameter: Parameter, ranges: Ranges
) -> Wanted:
    said = _("%(tank)s: %(what)s %(value)s.")
    if parameter.key == "drop_checker":  # yellow, the one word of it that alarms at any hour
        said = _("%(tank)s: %(what)s %(value)s, too much CO2.")
    said = said % {
        "tank": code,
        "what": parameter.name,
        "value": _value(row, parameter),
    }
    return Wanted(
        harm_class=harm_class,
        subject_kind="tank",
        subject_key=code,
        sentence=" ".join(said.split()),
        because=[
            {
                "what": "reading_alarm",
                "parameter": parameter.name,
                "value": _value(row, parameter),
                "low": ranges.alarm_low,
                "high": ranges.alarm_high,
                "unit": parameter.unit_text,
                "at": row.done_at_corrected.isoformat(),
                "by": row.person.name,
                "method": row.method,
                "lot": row.reagent_lot,
            }
        ],
    )


def _value(row: Reading, parameter: Parameter) -> str:
    if row.word:
        return row.word.replace("_", " ")
    sign = "" if row.qualifier == "=" else row.qualifier
    return f"{sign}{row.value:g} {parameter.unit_text}".strip()


def _rooms(showroom: Showroom) -> dict[str, Wanted]:
    last = (
        RoomAirCheck.objects.of(showroom)
        .standing()
        .filter(is_test=False, co2_ppm__isnull=False)
        .annotate(
            nth=Window(
                RowNumber(),
                partition_by=[F("room_id")],
                order_by=[F("done_at_corrected").desc(), F("pk").desc()],
            )
        )
        .filter(nth=1)
        .select_related("room", "person")
    )
    return {str(row.room.uid): _room(row) for row in last if row.co2_ppm > EIGHT_HOURS_PPM}


def _room(row: RoomAirCheck) -> Wanted:
    ppm = int(row.co2_ppm or 0)
    limit = (
        _("above %(n)s ppm, the limit of 15 minutes") % {"n": f"{FIFTEEN_MINUTES_PPM:,}"}
        if ppm > FIFTEEN_MINUTES_PPM
        else _("above %(n)s ppm, the limit of 8 hours") % {"n": f"{EIGHT_HOURS_PPM:,}"}
    )
    return Wanted(
        harm_class="A",
        subject_kind="room",
        subject_key=str(row.room.uid),
        sentence=_("%(room)s: %(ppm)s ppm of CO2 in the air, %(limit)s. Everybody out, ring.")
        % {"room": row.room.name, "ppm": f"{ppm:,}", "limit": limit},
        because=[
            {
                "what": "reading_alarm",
                "parameter": _("CO2 in the room air"),
                "value": f"{ppm:,} ppm",
                "low": None,
                "high": EIGHT_HOURS_PPM,
                "unit": "ppm",
                "at": row.done_at_corrected.isoformat(),
                "by": row.person.name,
                "method": "",
                "lot": "",
            }
        ],
    )
