"""One thing that may have happened beside the plan, as the filter takes it in."""

from __future__ import annotations

from dataclasses import dataclass

MISREAD_TIMES = 400.0
"""The variance of a reading that is not believed, relative to its own."""
PART_DAY_SD = 0.29
"""Sd of the share of an interval after an unknown moment in it (uniform, 1/sqrt(12))."""


@dataclass(frozen=True, slots=True)
class Shift:
    """What comes on top of plan and bookings between two readings."""

    content: float = 0.0
    variance: float = 0.0
    loss_days: float = 0.0
    """Days on which the steady loss runs."""


@dataclass(frozen=True, slots=True)
class Change:
    """A hypothesis: what happened before reading number ``at``, and its weight beforehand.

    ``content``, ``variance``: gone or come at once; ``late``: a booking of the following interval
    that came in this one; ``rate``: lost a day from then on, also after the last reading.
    """

    name: str
    at: int
    weight: float
    content: float = 0.0
    variance: float = 0.0
    late: float = 0.0
    late_variance: float = 0.0
    rate: float = 0.0
    rate_sd: float = 0.0
    is_misread: bool = False

    def shift(self, n: int, days: int) -> Shift:
        """Its part of the ``days`` days before reading ``n``."""
        if n < self.at:
            return Shift()
        if self.rate_sd:
            part = days / 2 if n == self.at else float(days)
            spread = (PART_DAY_SD * days * self.rate * 0.8 / 0.9) ** 2 if n == self.at else 0.0
            return Shift(variance=spread, loss_days=part)
        if n == self.at:
            return Shift(self.content + self.late, self.variance + self.late_variance)
        if n == self.at + 1:
            return Shift(-self.late, -self.late_variance)
        return Shift()


UNCHANGED = Change("none", 0, 1.0)
