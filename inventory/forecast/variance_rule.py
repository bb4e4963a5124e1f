"""Did more or less go than was booked, and does it ask for a reason?

The variance of a measurement is what it found less what the books expected, as a share of the use
booked since the measurement before it, never of the content. Above 15 % twice in a row, and more
than the scale can be wrong, a person is asked why (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

LIMIT_PERCENT = 15
TIMES_NOISE = 3
"""A variance within three standard deviations of both readings says nothing."""
IN_A_ROW = 2


@dataclass(frozen=True, slots=True)
class Interval:
    """From one measurement to the next, in base units of the item.

    ``expected_use`` is what was booked (or, for gas, planned) in it; ``variance`` is found less
    expected level, so it is negative when more went; ``noise_sd`` is that of both readings.
    """

    from_on: date
    to_on: date
    expected_use: float
    variance: float
    noise_sd: float

    @property
    def percent(self) -> float | None:
        """More use than expected as a share of it [%]; None when nothing was expected."""
        if self.expected_use <= 0:
            return None
        return -100 * self.variance / self.expected_use

    @property
    def is_over(self) -> bool:
        """Above the limit and above the noise?

        >>> day = date(2026, 3, 12)
        >>> [Interval(day, day, 100, v, 2).is_over for v in (-16, 16, -15, -14)]
        [True, True, False, False]
        >>> Interval(day, day, 100, -16, 6).is_over, Interval(day, day, 0, -16, 1).is_over
        (False, True)
        """
        if abs(self.variance) <= TIMES_NOISE * self.noise_sd:
            return False
        return self.percent is None or abs(self.percent) > LIMIT_PERCENT


def asks_why(intervals: Sequence[Interval]) -> Sequence[Interval]:
    """The last two intervals when both are over the limit, else nothing; oldest first."""
    last = intervals[-IN_A_ROW:]
    if len(last) < IN_A_ROW or not all(one.is_over for one in last):
        return []
    return last
