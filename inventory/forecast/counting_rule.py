"""What is to be measured this week, since when, and which three at random?

Fast or critical stock (class A) is measured once a week, B once a month, C once a quarter, and
three items of the others each week, so that nothing is left unseen for long and nobody knows which
(common practice, no source). A week is an ISO week; days are business days.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import sha256

INTERVAL_DAYS = {"A": 7, "B": 30, "C": 91}
AT_RANDOM = 3


@dataclass(frozen=True, slots=True)
class Due:
    """One stock of this week's plan.

    ``due_on`` is the day by which it was or is to be measured, None for one that was never
    measured; ``since_on`` that day when it has gone by; ``done_on`` the day of this week on which
    it was measured.
    """

    why: str
    """``A``, ``B``, ``C`` by its class, ``never``, ``random`` or ``below_nothing``."""
    due_on: date | None
    since_on: date | None
    done_on: date | None


def monday_of(day: date) -> date:
    """First day of the ISO week of a day.

    >>> monday_of(date(2026, 3, 12))
    datetime.date(2026, 3, 9)
    """
    return day - timedelta(days=day.weekday())


def due_this_week(
    *,
    count_class: str,
    measured_before_on: date | None,
    measured_this_week_on: date | None,
    today: date,
) -> Due | None:
    """Does a stock of this class belong to the plan of the week of ``today``?

    Parameters
    ----------
    measured_before_on : last day before this week on which it was measured; None for never
    measured_this_week_on : last day of this week, up to today, on which it was measured

    A stock stays in its week's plan after it was measured, so that progress can be told.

    >>> due_this_week(count_class="B", measured_before_on=date(2026, 2, 10),
    ...     measured_this_week_on=None, today=date(2026, 3, 13)).since_on
    datetime.date(2026, 3, 12)
    """
    days = INTERVAL_DAYS[count_class]
    if measured_before_on is None:
        return Due("never", None, None, measured_this_week_on)
    due_on = measured_before_on + timedelta(days=days)
    if due_on > monday_of(today) + timedelta(days=6):
        return None
    since = due_on if due_on < today and measured_this_week_on is None else None
    return Due(count_class, due_on, since, measured_this_week_on)


def at_random(
    names: Iterable[str], *, house: str, today: date, already: Collection[str] = ()
) -> list[str]:
    """Three of these names, the same all through an ISO week in one house and no other.

    Parameters
    ----------
    names : what could be chosen, in any order
    house : something that is the house's own and stays, such as its identifier
    already : names of this week's plan, which are not chosen again

    >>> week = {"house": "x", "today": date(2026, 3, 9)}
    >>> at_random("abcdefgh", **week) == at_random("hgfedcba", house="x", today=date(2026, 3, 15))
    True
    """
    year, week, _ = today.isocalendar()
    free = sorted(set(names) - set(already))
    return sorted(free, key=lambda name: (_rank(f"{house}:{year}-W{week:02}:{name}"), name))[
        :AT_RANDOM
    ]


def _rank(text: str) -> str:
    return sha256(text.encode()).hexdigest()
