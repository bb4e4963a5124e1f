"""On which weekday does each tank get a weekly task, so that no day carries them all?

A water change of twenty tanks is seventeen hours of work. The rule of such a task names the days on
which it may fall (`FREQ=WEEKLY;BYDAY=MO,TU,WE,TH`); each tank gets one of them and keeps it. The
day follows from the tank's own number alone, so that a tank that comes or goes moves no other.
"""

from __future__ import annotations

from datetime import date

from gallery_ops.kernel.values.limits import OutOfRange
from maintenance.schedule.recurrence import dates_between, parts_of

WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")


def rule_for(text: str, number: int) -> str:
    """The same rule with one weekday of its list, chosen by the subject's number.

    >>> rule_for("FREQ=WEEKLY;BYDAY=MO,TU,TH", 4)
    'FREQ=WEEKLY;BYDAY=TU'
    """
    parts = parts_of(text)
    days = parts.get("BYDAY", "").split(",")
    if parts.get("FREQ") != "WEEKLY" or any(day not in WEEKDAYS for day in days):
        raise OutOfRange(
            field="rule",
            allowed="a weekly rule that lists its weekdays, for a task spread over the week",
            got=text,
            remedy="Write it like FREQ=WEEKLY;BYDAY=MO,TU,TH.",
        )
    parts["BYDAY"] = days[number % len(days)]
    return ";".join(f"{name}={value}" for name, value in parts.items())


def dates_of(
    text: str, start: date, first: date, last: date, *, number: int = 0, spread: bool = False
) -> list[date]:
    """Local dates from `first` to `last` for one subject; see `dates_between`."""
    rule = rule_for(text, number) if spread else text
    return dates_between(rule, start, first, last)
