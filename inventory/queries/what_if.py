"""What if? The same projections with another plan ahead. Nothing is saved.

The plan of the days ahead is changed, and all else stays as it is known now: content, learned use,
deliveries. Both answers, as it is and if so, are made by one run each of the same engine.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from gallery_ops.kernel.models import Showroom

MOST_TANKS = 20
DOSE_PERCENT = (-90, 300)
SIDE_MM = (100, 6_000)
LONGEST_HOLIDAY_DAYS = 120


@dataclass(frozen=True, slots=True)
class NewTanks:
    """So many more tanks of outer sides [mm] from a day on, fed and dosed as the others are."""

    count: int
    length_mm: int
    width_mm: int
    height_mm: int
    from_on: date

    @property
    def outer_l(self) -> float:
        """Outer volume of one [L]."""
        return self.length_mm * self.width_mm * self.height_mm / 1e6


@dataclass(frozen=True, slots=True)
class Choices:
    """What is asked. Whatever is left out stays as it is.

    ``closed_to`` is the first day open again. While closed nothing is given by hand: doses stop,
    food goes on by feeder where ``feeders_when_closed``. ``dose_percent`` is a change: 10 is ten
    percent more of everything that is dosed.
    """

    closed_from: date | None = None
    closed_to: date | None = None
    feeders_when_closed: bool = True
    tanks: NewTanks | None = None
    startups_full: bool = False
    dose_percent: int = 0

    @property
    def is_nothing(self) -> bool:
        """Does everything stay as it is?"""
        return (
            self.closed_from is None
            and self.tanks is None
            and not self.startups_full
            and not self.dose_percent
        )


@dataclass(frozen=True, slots=True)
class Dates:
    """A range on the axis; None: not within 400 days. ``quantiles`` are days from today."""

    earliest: date | None
    likely: date | None
    latest: date | None
    order_by: date | None
    quantiles: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class WhatIfLine:
    """One item, or one gas cylinder, as it is and if so.

    ``moved_days``: likely day if so after (+) or before (-) as it is; 0.0 "as it was"; None where
    one of them lies beyond the horizon. ``order_moved_days`` the same of the last day to order.
    ``more_base``: how much more (+) is asked for within eight weeks [base units].
    """

    key: str
    name: str
    item_name: str
    kind: str
    dimension: str
    harm_class: str
    level_base: int
    now: Dates
    then: Dates
    moved_days: float | None
    order_moved_days: int | None
    more_base: int
    out_before_next_now: float | None
    out_before_next_then: float | None


@dataclass(frozen=True, slots=True)
class WhatIf:
    """Both answers for every item in use and every cylinder, soonest order first."""

    today: date
    choices: Choices
    lines: tuple[WhatIfLine, ...]
    new_tanks_without: tuple[str, ...]
    """Items of which nobody can say what one more tank would get."""


def what_if(showroom: Showroom, at: datetime, choices: Choices) -> WhatIf:
    """Both answers side by side; constant queries, nothing stored.

    Raises Refused naming the field when a choice is out of range.
    """
    raise NotImplementedError
