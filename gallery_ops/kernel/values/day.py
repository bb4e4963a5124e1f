"""Which business day does an instant belong to, and when does that day begin and end?

The day of a showroom ends at its cut-off hour by the local clock (04:00 as a rule), so a closing
round at half past midnight still belongs to yesterday. A due date is a local date; an instant is
kept in UTC.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from .limits import OutOfRange

LATEST_CUT_OFF = 11
"""A cut-off after this hour would not be a night's end any more."""


def zone_named(name: str, *, field: str = "Time zone") -> ZoneInfo:
    """The zone with this IANA name. Raises OutOfRange for one that does not exist."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise OutOfRange(field, "an IANA name such as Europe/London", name) from None


def business_day(at: datetime, zone: str | ZoneInfo, cut_off_hour: int) -> date:
    """The local date on which the business day of this instant began.

    Parameters
    ----------
    at : aware instant
    zone : IANA name or zone
    cut_off_hour : 0 to 11, by the local clock [h]

    >>> business_day(datetime(2026, 3, 13, 0, 30, tzinfo=UTC), "Europe/London", 4)
    datetime.date(2026, 3, 12)
    """
    here = local(at, zone)
    _cut_off(cut_off_hour)
    return here.date() if here.hour >= cut_off_hour else here.date() - timedelta(days=1)


def day_bounds(day: date, zone: str | ZoneInfo, cut_off_hour: int) -> tuple[datetime, datetime]:
    """First instant of the business day and first instant after it, in UTC.

    >>> day_bounds(date(2026, 3, 12), "Europe/London", 4)[0].isoformat()
    '2026-03-12T04:00:00+00:00'
    """
    _cut_off(cut_off_hour)
    start = time(cut_off_hour)
    return instant(day, start, zone), instant(day + timedelta(days=1), start, zone)


def instant(day: date, at_time: time, zone: str | ZoneInfo) -> datetime:
    """The instant at which the local clock shows this time on this local date, in UTC.

    A time that the clock jumps over gives the instant of the jump's far side (02:30 becomes 03:30);
    a time that comes twice gives the first.

    >>> instant(date(2026, 3, 29), time(1, 30), "Europe/London").isoformat()
    '2026-03-29T01:30:00+00:00'
    """
    if at_time.tzinfo is not None:
        raise OutOfRange("Time", "a local time without a zone", at_time)
    return datetime.combine(day, at_time, tzinfo=_zone(zone)).astimezone(UTC)


def business_instant(day: date, at_time: time, zone: str | ZoneInfo, cut_off_hour: int) -> datetime:
    """The instant of a clock time within a business day, in UTC: 00:30 lies on the next local date.

    >>> business_instant(date(2026, 3, 12), time(0, 30), "Europe/London", 4).isoformat()
    '2026-03-13T00:30:00+00:00'
    """
    _cut_off(cut_off_hour)
    later = timedelta(days=1 if at_time.hour < cut_off_hour else 0)
    return instant(day + later, at_time, zone)


def local(at: datetime, zone: str | ZoneInfo) -> datetime:
    """The instant by the local clock. Raises OutOfRange for one without a time zone."""
    if at.tzinfo is None:
        raise OutOfRange("Time", "an instant with a time zone", at)
    return at.astimezone(_zone(zone))


def days(first: date, last: date) -> Iterator[date]:
    """All dates from the first to the last, both included."""
    for offset in range((last - first).days + 1):
        yield first + timedelta(days=offset)


def _zone(zone: str | ZoneInfo) -> ZoneInfo:
    return zone if isinstance(zone, ZoneInfo) else zone_named(zone)


def _cut_off(hour: int) -> None:
    if not 0 <= hour <= LATEST_CUT_OFF:
        raise OutOfRange("Cut-off hour", f"0 to {LATEST_CUT_OFF}", hour)
