"""How many days does it last at a given use? Exactly, in whole base units.

The figures a person can check by hand; the range of a projection comes from
:mod:`inventory.forecast.engine`. Base units are microlitres, milligrams or pieces; content and use
must be in the same one.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from gallery_ops.kernel.values.limits import OutOfRange


def whole_days(content: int, use_per_day: int, unusable: int = 0) -> int:
    """Whole days that the content gives a full day's use.

    content, unusable : base units, >= 0; use_per_day : base units, > 0. Content below the unusable
    remainder gives 0. Raises OutOfRange for a use of nothing or a negative value.

    >>> whole_days(500_000, 3_000), whole_days(500_000, 3_000, 5_000)
    (166, 165)
    """
    return int(days_until_empty(content, use_per_day, unusable))


def days_until_empty(content: int, use_per_day: int | Fraction, unusable: int = 0) -> Fraction:
    """Exact days until the usable content is gone at a steady use.

    use_per_day : base units, > 0; a fraction for a week with pauses, see :func:`use_per_day`.

    >>> float(days_until_empty(100_000, use_per_day(5_795, 6)))  # doctest: +ELLIPSIS
    20.132...
    """
    for field, value in (("content", content), ("unusable", unusable)):
        if value < 0:
            raise OutOfRange(field, "0 or more", value, "Weigh or count it again.")
    if use_per_day <= 0:
        raise OutOfRange(
            "use_per_day", "more than 0", use_per_day, "Without use it lasts for ever."
        )
    return Fraction(max(0, content - unusable)) / use_per_day


def use_per_day(per_planned_day: int, planned_days_a_week: int) -> Fraction:
    """Mean use a day of something given on some days of the week only [base units].

    planned_days_a_week : 0 to 7.
    """
    if not 0 <= planned_days_a_week <= 7:
        raise OutOfRange("planned_days_a_week", "0 to 7", planned_days_a_week)
    return Fraction(per_planned_day * planned_days_a_week, 7)


def left_at(content: int, share_percent: int) -> int:
    """What remains when only ``share_percent`` of a full container is left [base units, rounded
    down].

    >>> left_at(500_000, 5)
    25000
    """
    if not 0 <= share_percent <= 100:
        raise OutOfRange("share_percent", "0 to 100", share_percent)
    return content * share_percent // 100


def day_of_run_out(content: int, planned: Iterable[int], unusable: int = 0) -> int | None:
    """First day (from 1) on which the plan asks for more than is left; None if the plan ends
    before.

    planned : base units on day 1, 2, .., each >= 0.

    >>> day_of_run_out(10, [3, 3, 3, 3]), day_of_run_out(10, [5, 5])
    (4, None)
    """
    left = content - unusable
    for day, amount in enumerate(planned, start=1):
        left -= amount
        if left < 0:
            return day
    return None
