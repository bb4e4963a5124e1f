"""What did the water of a tank read, on its own habit, and what was changed meanwhile?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from gallery_ops.overview.tank_events import Happened, happened
from tanks.models import Parameter, Reading
from tanks.queries.range_history import RangesThen
from tanks.queries.reading_sheet import ON_A_SHEET, is_alarming
from tanks.queries.readings import Ranges
from tanks.queries.tanks import TankNow, tank_by_code
from tanks.science.drift import Drift, Read, judge

WEEKS = (8, 17, 52)
USUAL_WEEKS = 17
SHOWN = 60
SECONDS_PER_DAY = 86_400


@dataclass(frozen=True, slots=True)
class Chart:
    """One parameter: its standing numbers, oldest first, and what they say.

    ``alike`` are those that can be compared with the newest; ``reaches_on`` is the day on which a
    trend is at its limit.
    """

    parameter: Parameter
    ranges: Ranges
    rows: list[Reading]
    drift: Drift
    alike: frozenset[int]
    reaches_on: date | None

    @property
    def last(self) -> Reading:
        """The newest."""
        return self.rows[-1]


@dataclass(frozen=True, slots=True)
class ReadingsPage:
    """All of it between two moments; ``rows`` newest first, also those that no longer stand.

    ``outside`` : row -> what was wanted when it was read, of those that lay outside of it
    """

    now: TankNow
    since: datetime
    at: datetime
    weeks: int
    charts: list[Chart]
    events: list[Happened]
    rows: list[Reading]
    outside: Mapping[int, Ranges]

    def part(self, moment: datetime) -> float:
        """Where a moment stands between the two, 0 to 1."""
        whole = (self.at - self.since).total_seconds() or 1.0
        return (moment - self.since).total_seconds() / whole


def readings_page(showroom: Showroom, code: str, at: datetime, weeks: int) -> ReadingsPage:
    """The readings of the layout that stands now, at most ``weeks`` back; twelve queries.

    A chart shows what is wanted today; each row is held against what was wanted when it was read.

    Raises
    ------
    Unknown
        when no tank of this showroom was ever called so.
    """
    now = tank_by_code(showroom, code, at)
    since = at - timedelta(weeks=weeks)
    if now.layout is not None:
        since = max(since, now.layout.from_at)
    rows = list(
        Reading.objects.of(showroom)
        .filter(tank=now.tank, done_at_corrected__gte=since, done_at_corrected__lte=at)
        .select_related("parameter", "person", "corrects", "corrected_by__person")
        .order_by("done_at_corrected", "pk")
    )
    style = now.layout.style if now.layout else ""
    then = RangesThen(now.tank, style)
    shown = [row for row in reversed(rows) if _is_shown(row)][:SHOWN]
    return ReadingsPage(
        now=now,
        since=since,
        at=at,
        weeks=weeks,
        charts=_charts(showroom, rows, {key: then.at(key, at) for key in then.parameters}),
        events=happened(now.tank, since, at),
        rows=shown,
        outside={
            row.pk: ranges
            for row in shown
            if is_alarming(row, ranges := then.at(row.parameter.key, row.done_at_corrected))
        },
    )


def _is_shown(row: Reading) -> bool:
    """Numbers as in the charts, and words that are read of the water.

    A row that only takes back another is told beside that one.
    """
    is_of_the_water = row.value is not None or row.parameter.key in ON_A_SHEET
    return is_of_the_water and not row.takes_back


def _charts(showroom: Showroom, rows: Iterable[Reading], ranges: dict[str, Ranges]) -> list[Chart]:
    groups: dict[str, list[Reading]] = defaultdict(list)
    for row in rows:
        if row.value is not None and not row.takes_back and not hasattr(row, "corrected_by"):
            groups[row.parameter.key].append(row)
    found = [_chart(showroom, group, ranges[key]) for key, group in groups.items()]
    return sorted(found, key=lambda chart: (chart.parameter.order, chart.parameter.pk))


def _chart(showroom: Showroom, rows: list[Reading], ranges: Ranges) -> Chart:
    parameter = rows[0].parameter
    reads = [_read(row) for row in rows]
    drift = judge(reads, step=parameter.step, low=ranges.alarm_low, high=ranges.alarm_high)
    newest = reads[-1]
    alike = frozenset(row.pk for row, read in zip(rows, reads, strict=True) if read.is_like(newest))
    reaches = None
    if drift.trend is not None and drift.trend.days_to_limit is not None:
        moment = _last_number(rows, alike) + timedelta(days=min(drift.trend.days_to_limit, 3650))
        reaches = business_day(moment, showroom.tz, showroom.cut_off_hour)
    return Chart(parameter, ranges, rows, drift, alike, reaches)


def _last_number(rows: Sequence[Reading], alike: frozenset[int]) -> datetime:
    moments: list[datetime] = [row.done_at_corrected for row in rows if row.pk in alike]
    return moments[-1]


def _read(row: Reading) -> Read:
    return Read(
        day=row.done_at_corrected.timestamp() / SECONDS_PER_DAY,
        value=float(row.value or 0),
        light_phase=row.light_phase,
        method=row.method,
        reagent_lot=row.reagent_lot,
        at_limit=row.qualifier != "=",
    )
