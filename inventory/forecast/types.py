"""What is known of one stock (a case), and what follows from it (a projection).

A case is one stock that runs out as a whole: a container, several containers of one item used one
after another, or a count of pieces. Time 0 is the end of ``as_of``, a business day; day k is the
interval (k-1, k]. Amounts are floats in the case's unit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

Kind = Literal["bottle", "can", "cylinder", "tub", "piece"]
Unit = Literal["mL", "g", "piece"]
By = Literal["hand", "feeder", "valve"]
Seen = Literal["weigh", "full", "eye", "count"]
Alarm = Literal["none", "steady_loss", "sudden_loss"]
HarmClass = Literal["A", "B", "C", "D"]

LEVELS: tuple[float, ...] = tuple(round(0.05 * i, 2) for i in range(1, 20))
"""Probabilities of the nineteen quantiles, p05 to p95."""
HORIZON_DAYS = 400
"""A run-out at this day means: not within the horizon."""


@dataclass(frozen=True, slots=True)
class Vessel:
    """A container of the stock, in order of use. Later ones are full until the earlier are used
    up.
    """

    id: str
    nominal: float
    """A full one holds this."""
    fill_sd: float
    unusable: float = 0.0
    """Stays in it: under the dip tube, or the last gas before exchange."""


@dataclass(frozen=True, slots=True)
class PlanSegment:
    """A stretch of plan of one line (tank or feeder). Segments of one line add up."""

    line: str
    by: By
    start: date
    end: date | None
    """First day no longer in it; None = open."""
    weekdays: str
    """Seven characters from Monday, ``1`` = planned."""
    per_day: float


@dataclass(frozen=True, slots=True)
class Observation:
    """Something seen at the end of a day.

    ``weigh``: value = net content of ``container``; ``full``: opened, value = its nominal content;
    ``eye``: value = quarters of nominal, 0 to 1; ``count``: pieces, exact, no container.
    """

    on: date
    kind: Seen
    value: float
    container: str | None = None
    sd: float = 0.0
    resolution: float = 0.0
    scale: str = ""


@dataclass(frozen=True, slots=True)
class Event:
    """A booked receipt or decant at the start of a day; ``amount`` is signed."""

    on: date
    kind: str
    amount: float
    sd: float = 0.0


@dataclass(frozen=True, slots=True)
class Calibration:
    """Presses (or turns) weighed: what was given per amount planned."""

    on: date
    factor: float
    sd: float


@dataclass(frozen=True, slots=True)
class Supplier:
    """How deliveries come. ``closures`` are half-open, ``delivery_weekdays`` count from Monday
    = 0.
    """

    delivery_weekdays: tuple[int, ...]
    stated_lead_days: float
    past_lead_days: tuple[float, ...] = ()
    closures: tuple[tuple[date, date], ...] = ()
    past_cut_off_today: bool = False


@dataclass(frozen=True, slots=True)
class Case:
    """All that is known of one stock at the end of ``as_of``.

    ``ticks``: per line one character a day from ``history_from`` to ``as_of``: ``d`` done, ``s``
    skipped with a reason, ``m`` nobody ticked, ``2`` ticked twice, ``-`` nothing planned.
    ``ticked`` false: a valve or timer does it and the plan counts as done.
    """

    case_id: str
    kind: Kind
    unit: Unit
    as_of: date
    history_from: date
    vessels: tuple[Vessel, ...]
    plan: tuple[PlanSegment, ...]
    observations: tuple[Observation, ...] = ()
    ticks: Mapping[str, str] = field(default_factory=dict)
    ticked: bool = True
    events: tuple[Event, ...] = ()
    calibration: tuple[Calibration, ...] = ()
    supplier: Supplier | None = None
    group: str = ""
    harm: HarmClass = "B"
    horizon_days: int = HORIZON_DAYS
    demand: tuple[int, ...] | None = None
    """Pieces asked for on each day of history, where no plan says it; None: a plan does."""


@dataclass(frozen=True, slots=True)
class Pool:
    """One item in several places: each place a case, and what stands unopened beside them.

    ``reserve`` is the usable content that belongs to no place yet, ``reserve_sd`` its uncertainty.
    The stock may be carried from place to place, so only the sum must last.
    """

    case_id: str
    places: tuple[Case, ...]
    reserve: float = 0.0
    reserve_sd: float = 0.0
    supplier: Supplier | None = None
    harm: HarmClass = "B"


@dataclass(frozen=True, slots=True)
class Options:
    """How far the engine goes. The usual ones are the defaults."""

    walks: tuple[tuple[float, float], ...] = ((0.002, 0.85), (0.012, 0.15))
    """Drift of a factor per square root of a day, and its prior weight."""
    sisters: bool = True
    """Let stocks of one group and kind teach each other."""
    bank: bool = True
    """Look for what went wrong."""


USUAL = Options()


@dataclass(frozen=True, slots=True)
class Delivery:
    """A possible delivery: in how many days, and the chance of being out by its end."""

    day: int
    out_before: float


@dataclass(frozen=True, slots=True)
class Projection:
    """What follows from a case. Days count from the end of ``as_of``; amounts are in the case's
    unit.
    """

    case_id: str
    unit: Unit
    as_of: date
    quantiles: tuple[float, ...]
    """Days until the usable content is gone, p05 to p95, not falling; 0 = already, 400 = not
    within.
    """
    order_by: int | None
    """Latest day whose order still comes in time at the harm class's risk; None: no delivery known.
    """
    risk_at_order_by: float | None
    alarm: Alarm
    factor: float | None
    """Use per planned unit; None when nothing is planned."""
    factor_sd: float | None
    level: float
    level_sd: float
    measured_on: date | None
    measured_n: int
    deliveries: tuple[Delivery, ...]
    because: tuple[Mapping[str, object], ...]

    def quantile(self, level: float) -> float:
        """The quantile at one of :data:`LEVELS`, in days."""
        return self.quantiles[LEVELS.index(level)]

    @property
    def is_never_measured(self) -> bool:
        """Nothing but the plan stands behind it."""
        return self.measured_n == 0
