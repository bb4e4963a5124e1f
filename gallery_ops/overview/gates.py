"""How does a tank stand at its gates, what is proposed in its start-up, and does it grow old?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.values.day import business_day
from inventory.queries.livestock import last_arrival
from maintenance.queries.ageing import TRIM, ageing_of, is_shown
from maintenance.queries.care import done_lately
from tanks.models import Parameter, Reading
from tanks.queries.gates import Standing, own_limits, standing, words_of
from tanks.queries.readings import history, ranges_for
from tanks.queries.tanks import TankNow, tank_by_code
from tanks.science.decline import Sign, is_declining, signs_of_decline
from tanks.science.gates import Measured, Records
from tanks.services.gates import NEXT, pass_gates

BACK = timedelta(days=60)
USUAL_BAND_C = (20.0, 28.0)


@dataclass(frozen=True, slots=True)
class GatePage:
    """One tank at its gates.

    ``signs`` is None before it is shown; ``goes_to`` is empty where passing moves no stage.
    """

    now: TankNow
    standing: list[Standing]
    goes_to: str
    signs: tuple[Sign, ...] | None
    is_declining: bool

    @property
    def missing(self) -> int:
        """Proofs that are still missing."""
        return sum(len(one.lines) - one.shown for one in self.standing)

    @property
    def asked(self) -> int:
        """Proofs that are asked for."""
        return sum(len(one.lines) for one in self.standing)


def gate_page(showroom: Showroom, code: str, at: datetime) -> GatePage:
    """The gates before the tank that is called so.

    Raises
    ------
    Unknown
        when no tank of this showroom is called so.
    """
    now = tank_by_code(showroom, code, at)
    own = own_limits(showroom)
    layout = now.layout
    found = standing(now.tank, layout, records_of(now, at), own)
    signs = None
    if layout is not None and is_shown(layout):
        signs = signs_of_decline(ageing_of(showroom, [layout], now.on)[layout.pk], own)
    goes_to = NEXT.get(layout.stage) if layout else None
    return GatePage(
        now=now,
        standing=found,
        goes_to=str(goes_to.label) if goes_to else "",
        signs=signs,
        is_declining=signs is not None and is_declining(signs, own),
    )


def pass_on(*, by: Membership, code: str, at: datetime) -> TankNow:
    """Everything is shown: the layout of this tank goes on."""
    now = tank_by_code(by.showroom, code, at)
    if now.layout is not None:
        pass_gates(layout=now.layout, records=records_of(now, at), by=by, at=at)
    return tank_by_code(by.showroom, code, at)


def records_of(now: TankNow, at: datetime) -> Records:
    """What is written down of a tank, as far as a gate asks for it."""
    tank, layout = now.tank, now.layout
    if layout is None:
        return Records(at)
    since = max(at - BACK, layout.from_at)
    said = words_of(tank, layout)
    media = said.get(("G5", "mature_media"))
    rows = {key: history(tank, key, since) for key in ("ammonia_n", "nitrite", "temperature")}
    last = {
        "trim": _last(done_lately(tank, TRIM, since)),
        "animals": last_arrival(tank, since),
    }
    return Records(
        now=at,
        day=now.day,
        has_mature_media=media is not None and media.was_so,
        has_co2=layout.has_co2,
        tests={key: _measured(rows[key]) for key in ("ammonia_n", "nitrite")},
        temperatures=_measured(rows["temperature"]),
        band_c=_band(now),
        checkers=_at_the_end_of_the_light(history(tank, "drop_checker", since), tank.showroom),
        last={key: moment for key, moment in last.items() if moment is not None},
    )


def _last(moments: list[datetime]) -> datetime | None:
    return moments[-1] if moments else None


def _measured(rows: list[Reading]) -> tuple[Measured, ...]:
    found = [
        Measured(row.done_at_corrected, row.value, row.qualifier == "<")
        for row in rows
        if row.value is not None
    ]
    return tuple(sorted(found, key=lambda row: row.at))


def _band(now: TankNow) -> tuple[float, float]:
    """The range in which no alarm is raised, for this tank or its style."""
    parameter = Parameter.objects.filter(key="temperature").first()
    if parameter is None:
        return USUAL_BAND_C
    ranges = ranges_for(now.tank, parameter)
    low = USUAL_BAND_C[0] if ranges.alarm_low is None else ranges.alarm_low
    high = USUAL_BAND_C[1] if ranges.alarm_high is None else ranges.alarm_high
    return low, high


def _at_the_end_of_the_light(
    rows: list[Reading], showroom: Showroom
) -> tuple[tuple[datetime, str], ...]:
    """The last word of each business day: by then the gas has run longest."""
    last: dict[date, tuple[datetime, str]] = {}
    for row in sorted(rows, key=lambda row: row.done_at_corrected):
        on = business_day(row.done_at_corrected, showroom.tz, showroom.cut_off_hour)
        last[on] = (row.done_at_corrected, row.word)
    return tuple(last.values())
