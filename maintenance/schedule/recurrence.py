"""On which local dates does a task fall due, and at which instant of a given zone?

A rule is written as RFC 5545 section 3.3.10 writes it (`FREQ=WEEKLY;BYDAY=TH`) and is walked on
local wall-clock dates; python-dateutil expands it. This file adds what a gallery needs on top:

- an UNTIL given in UTC is compared on the wall clock of the zone;
- "every 31st" means the last day of each month, and so do the 29th and 30th where a month is
  shorter; a rule says so in its own text (`at_month_end`), so that the stored rule is plain RFC;
- a task may count from its due date or from the day it was done;
- a wall-clock minute that the zone leaves out becomes the next minute that exists; a minute that
  occurs twice counts once, the first time.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import Final
from zoneinfo import ZoneInfo

from dateutil.rrule import rrule, rrulestr

from gallery_ops.kernel.values.limits import OutOfRange

FREQUENCIES: Final = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")
PARTS: Final = frozenset(
    [
        "FREQ",
        "INTERVAL",
        "COUNT",
        "UNTIL",
        "WKST",
        "BYDAY",
        "BYMONTH",
        "BYMONTHDAY",
        "BYYEARDAY",
        "BYWEEKNO",
        "BYSETPOS",
    ]
)
LAST_DAY: Final = "BYMONTHDAY=-1"
EXAMPLE: Final = "FREQ=WEEKLY;BYDAY=TH, or FREQ=MONTHLY;BYMONTHDAY=-1 for the last day of the month"
_MIDNIGHT: Final = time(0)
# A leap year that begins a cycle of four; long enough to meet every weekday on 29 February.
_TRIAL_FIRST: Final = date(2000, 1, 1)
_TRIAL_LAST: Final = date(2040, 12, 31)


def parts_of(text: str) -> dict[str, str]:
    """Split a rule into its named parts.

    Raises OutOfRange when the text is no list of NAME=VALUE, or names a part twice.

    >>> parts_of("FREQ=WEEKLY;BYDAY=TH")
    {'FREQ': 'WEEKLY', 'BYDAY': 'TH'}
    """
    found: dict[str, str] = {}
    for part in text.strip().removeprefix("RRULE:").split(";"):
        name, mark, value = part.partition("=")
        name = name.strip().upper()
        if not mark or not value.strip() or name in found:
            raise _refused(text)
        found[name] = value.strip().upper()
    return found


@lru_cache(maxsize=512)
def read_rule(text: str) -> str:
    """The rule of a task in its stored form, or OutOfRange.

    text : RFC 5545 recurrence rule that repeats by day, week, month or year. Hours and minutes
        belong to the task's time of day, not to its rule.
    """
    parts = parts_of(text)
    if parts.get("FREQ") not in FREQUENCIES or set(parts) - PARTS:
        raise _refused(text)
    if not all(_is_count(parts.get(name, "1")) for name in ("INTERVAL", "COUNT")):
        raise _refused(text)
    if {"COUNT", "UNTIL"} <= set(parts) or "0" in parts.get("BYMONTHDAY", "").split(","):
        raise _refused(text)
    if parts.get("BYMONTHDAY") == "31" and "BYSETPOS" not in parts:
        parts["BYMONTHDAY"] = "-1"
    stored = ";".join(f"{name}={value}" for name, value in parts.items())
    if not _ever_occurs(stored):
        raise OutOfRange(
            field="rule",
            allowed="a rule that falls on some day",
            got=text,
            remedy="No calendar has such a day. Check month and day of the month.",
        )
    return stored


def read_rule_from_done(text: str) -> str:
    """A rule that counts from the day the task was done: an interval and nothing else.

    A weekday or a day of the month would pull the next date towards the last one: filter done on
    Monday, due again on Tuesday. Such a task counts from its due date instead.
    """
    stored = read_rule(text)
    if set(parts_of(stored)) - {"FREQ", "INTERVAL", "WKST"}:
        raise OutOfRange(
            field="rule",
            allowed="FREQ and INTERVAL only, for a task that counts from the day it was done",
            got=text,
            remedy="Take out the weekday or day of the month, or let it count from its due date.",
        )
    return stored


@lru_cache(maxsize=512)
def at_month_end(text: str, start: date) -> str:
    """The same rule, with the day of the month that it takes from its start written into it.

    RFC 5545 passes by a month without a 31st. A gallery means the last day of that month, so the
    29th, 30th and 31st become the latest of those days that the month has.

    >>> at_month_end("FREQ=MONTHLY", date(2026, 1, 31))
    'FREQ=MONTHLY;BYMONTHDAY=-1'
    >>> at_month_end("FREQ=MONTHLY", date(2026, 1, 30))
    'FREQ=MONTHLY;BYMONTHDAY=28,29,30;BYSETPOS=-1'
    """
    stored = read_rule(text)
    parts = parts_of(stored)
    by_day_of_month = not any(name.startswith("BY") and name != "BYMONTH" for name in parts)
    if not by_day_of_month or start.day <= 28 or parts["FREQ"] not in ("MONTHLY", "YEARLY"):
        return stored
    month = ""
    if parts["FREQ"] == "YEARLY":
        if start.month != 2:
            return stored
        month = "" if "BYMONTH" in parts else ";BYMONTH=2"
    if start.day == 31 or month:
        return f"{stored}{month};{LAST_DAY}"
    days = ",".join(str(day) for day in range(28, start.day + 1))
    return f"{stored};BYMONTHDAY={days};BYSETPOS=-1"


def walls(
    text: str, start: datetime, zone: ZoneInfo | None = None, but: Iterable[datetime] = ()
) -> Iterator[datetime]:
    """Each occurrence of a rule as local wall-clock time without zone, in order.

    text : any rule of RFC 5545, also by hour and minute.
    start : first wall-clock time, naive [local].
    zone : needed when UNTIL is written in UTC.
    but : occurrences to leave out (EXDATE), naive [local].

    Source: RFC 5545 sections 3.3.10 and 3.8.5.1; checked against its worked examples.
    """
    out = set(but)
    return (wall for wall in _expand(text, start, zone) if wall not in out)


def dates_between(text: str, start: date, first: date, last: date) -> list[date]:
    """Local dates of a task rule from `first` to `last`, both included.

    start : the day from which the rule counts; dates before it never occur.

    >>> dates_between("FREQ=WEEKLY", date(2026, 3, 5), date(2026, 3, 10), date(2026, 3, 20))
    [datetime.date(2026, 3, 12), datetime.date(2026, 3, 19)]
    """
    return list(_dates_between(text, start, first, last))


@lru_cache(maxsize=4096)
def _dates_between(text: str, start: date, first: date, last: date) -> tuple[date, ...]:
    """As above; the tanks of a fleet mostly share their rules and days."""
    if last < max(first, start):
        return ()
    expanded = _expand(at_month_end(text, start), _wall(start), None)
    found = expanded.between(_wall(first), _wall(last), inc=True)
    return tuple(wall.date() for wall in found)


def next_from_due(text: str, start: date, after: date) -> date | None:
    """First date of the rule later than `after`; None when the rule has ended.

    Late completion does not move it: the calendar counts.
    """
    expanded = _expand(at_month_end(text, start), _wall(start), None)
    found: datetime | None = expanded.after(_wall(after))
    return None if found is None else found.date()


@lru_cache(maxsize=4096)
def next_from_done(text: str, done_on: date) -> date:
    """The date one interval after the day the task was done.

    >>> next_from_done("FREQ=WEEKLY;INTERVAL=4", date(2026, 3, 12))
    datetime.date(2026, 4, 9)
    >>> next_from_done("FREQ=MONTHLY", date(2026, 1, 31))
    datetime.date(2026, 2, 28)
    """
    stored = at_month_end(read_rule_from_done(text), done_on)
    found = next_from_due(stored, done_on, done_on)
    if found is None:
        raise _refused(text)
    return found


def instant_of(day: date, at: time, zone: ZoneInfo) -> datetime:
    """The UTC instant of a wall-clock minute.

    A minute that the zone leaves out becomes the next one that exists; a minute that occurs twice
    counts once, the first time.

    >>> instant_of(date(2026, 3, 29), time(1, 30), ZoneInfo("Europe/London"))
    datetime.datetime(2026, 3, 29, 1, 0, tzinfo=datetime.timezone.utc)
    """
    wall = datetime.combine(day, at.replace(second=0, microsecond=0, fold=0))
    # A zone may leave out a whole day when it crosses the date line (Apia, 30 December 2011).
    for _ in range(2 * 24 * 60):
        instant = wall.replace(tzinfo=zone).astimezone(UTC)
        if instant.astimezone(zone).replace(tzinfo=None) == wall:
            return instant
        wall += timedelta(minutes=1)
    raise OutOfRange(
        field="time",
        allowed="a time that exists in this zone",
        got=f"{day} {at}",
        remedy="Check the zone of the showroom.",
    )


def _is_count(value: str) -> bool:
    return value.isascii() and value.isdigit() and 0 < int(value) < 10_000


def _ever_occurs(stored: str) -> bool:
    trial = _expand(stored, _wall(_TRIAL_FIRST), None)
    forever = trial.replace(until=_wall(_TRIAL_LAST), count=None)
    return next(iter(forever), None) is not None


def clocks_change_on(day: date, zone: ZoneInfo) -> bool:
    """Do the clocks of this zone change on this local date?

    >>> clocks_change_on(date(2026, 3, 29), ZoneInfo("Europe/London"))
    True
    """
    start, end = (
        _wall(each).replace(tzinfo=zone).utcoffset() for each in (day, day + timedelta(days=1))
    )
    return start != end


def _expand(text: str, start: datetime, zone: ZoneInfo | None) -> rrule:
    """The rule as dateutil expands it; its UNTIL on the wall clock of the zone."""
    parts = parts_of(text)
    until = parts.get("UNTIL", "")
    if until.endswith("Z"):
        parts["UNTIL"] = _local_until(until, zone, text)
    spelled = ";".join(f"{name}={value}" for name, value in parts.items())
    try:
        made = rrulestr(spelled, dtstart=start)
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        raise _refused(text) from error
    if not isinstance(made, rrule):
        raise _refused(text)
    return made


def _local_until(until: str, zone: ZoneInfo | None, text: str) -> str:
    if zone is None:
        raise OutOfRange(
            field="rule",
            allowed="an UNTIL as local date, such as UNTIL=20261231",
            got=text,
            remedy="Leave out the time and the Z: the last day counts in the gallery's own zone.",
        )
    try:
        instant = datetime.strptime(until, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
    except ValueError as error:
        raise _refused(text) from error
    return instant.astimezone(zone).strftime("%Y%m%dT%H%M%S")


def _wall(day: date) -> datetime:
    return datetime.combine(day, _MIDNIGHT)


def _refused(text: str) -> OutOfRange:
    return OutOfRange(
        field="rule",
        allowed="a rule by day, week, month or year as in RFC 5545",
        got=text,
        remedy=f"Write it like {EXAMPLE}.",
    )
