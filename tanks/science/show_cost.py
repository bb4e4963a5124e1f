"""What does a day on show of a layout cost? Whole minor units and exact shares, never a float.

The sum of its build, of the work given to it and of what was used on it, over the days on which it
was shown. What has no price is not in the sum: whoever shows the figure says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from fractions import Fraction

ON_SHOW = frozenset({"show", "recovery", "decline"})
"""Stages in which visitors see it; one that recovers from a trim or grows old is still shown."""


def show_days(stages: Sequence[tuple[date, str]], until: date) -> int:
    """Days on show, the last one not counted.

    Parameters
    ----------
    stages : day and stage that began on it, oldest first
    until : the day on which it was taken out, else today

    >>> show_days([(date(2026, 1, 1), "grow_in"), (date(2026, 2, 1), "show")], date(2026, 3, 1))
    28
    """
    ends = [day for day, _stage in stages[1:]] + [until]
    return sum(
        max(0, (min(end, until) - begun).days)
        for (begun, stage), end in zip(stages, ends, strict=True)
        if stage in ON_SHOW
    )


def use_cents(used_base: int, price_cents: int, pack_base: int) -> Fraction:
    """What an amount used costs, at the price of a pack [minor units].

    used_base, pack_base : in the same base unit; ``pack_base`` above 0

    >>> use_cents(21_000, 1_200, 500_000)
    Fraction(252, 5)
    """
    if used_base < 0 or price_cents < 0 or pack_base <= 0:
        raise ValueError("amounts and prices are not negative, and a pack holds something")
    return Fraction(used_base * price_cents, pack_base)


def whole_cents(exact: Fraction) -> int:
    """Rounded to whole minor units, half up.

    >>> whole_cents(Fraction(101, 2)), whole_cents(Fraction(504, 10))
    (51, 50)
    """
    return int((exact * 2 + 1) // 2)


def day_cents(total: Fraction | int, days: int) -> int | None:
    """Cost of one day on show [minor units]; None before the first.

    >>> day_cents(10_000, 30), day_cents(10_000, 0)
    (333, None)
    """
    return whole_cents(Fraction(total) / days) if days > 0 else None
