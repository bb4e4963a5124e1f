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
Name = Literal[
    "none", "steady_loss", "sudden_loss", "wrong_reading", "unbooked_gain", "booked_late"
]
"""What may have happened to a stock beside its plan; ``none`` = nothing."""
Habit = Literal["gives_less", "gives_more", "unticked_done", "unticked_left_out"]
"""Slow things: no alarm, a sentence."""

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
class Answer:
    """What somebody found out about days on which something seemed wrong; taken as given.

    ``none``: looked at and all right, nothing is guessed at for these days again; ``steady_loss``
    began then and ran until the end of ``stopped_on`` (None: still runs); the others happened once
    then. How much it was is learned from the weighings. Of several weighing intervals from
    ``from_day`` to ``to_day`` (both inclusive) the one that explains the weighings best is taken.
    An answer that meets no weighing interval is without effect.
    """

    name: Name
    from_day: date
    to_day: date
    stopped_on: date | None = None


@dataclass(frozen=True, slots=True)
class Sisters:
    """What the other stocks of its group taught one stock, kept so that it need not be learned
    again.

    ``mean`` and ``variance`` of the common use factor before its own weighings; ``noise``: day
    noise relative to that of the kind; ``counts``: planned doses of the group (itself included)
    done, skipped and unticked, for the shares.
    """

    mean: float
    variance: float
    noise: float
    counts: tuple[float, float, float]
    drift: float | None = None
    """Prior weight of the quicker of the two walks; None: the usual one."""
    trend: float | None = None
    """Prior weight of a steady drift; None: the usual one."""
    alike: float | None = None
    """How many own doses the group's usual shares are worth; None: the usual number."""


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
    answers: tuple[Answer, ...] = ()
    """What was found out about alarms before."""
    sisters: Sisters | None = None
    """What its sisters taught before: taken as it is, and it neither learns nor teaches in this
    run. None: it learns from those it is projected with.
    """


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

    walks: tuple[tuple[float, float], ...] = ((0.002, 0.90), (0.016, 0.10))
    """Drift of a factor per square root of a day, and its prior weight; a random walk each."""
    trend: tuple[float, float] | None = (0.0015, 0.10)
    """A steady drift beside them: sd of a factor's change per day relative to it, and its prior
    weight, taken from the walks in proportion. It moves with the first walk. None: not asked for.
    """
    sisters: bool = True
    """Let stocks of one group and kind teach each other."""
    bank: bool = True
    """Look for what went wrong."""
    keep_left: bool = False
    """Also tell the content left day by day (:class:`Left`)."""


USUAL = Options()


@dataclass(frozen=True, slots=True)
class Size:
    """A size with its range, in whole base units (uL, mg or pieces): p10, p50, p90."""

    lo: int
    mid: int
    hi: int


@dataclass(frozen=True, slots=True)
class Measured:
    """A reading beside what was to be expected after the one before it, from the plan at the
    learned factor and what was booked; whole base units.
    """

    on: date
    kind: Seen
    container: str | None
    value: int
    """As it was seen: net content of ``container``, or pieces."""
    expected: int | None
    """What the same reading should have shown; None for the first reading of a stock."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that may have gone wrong with one place, with what a sentence about it needs.

    ``weight``: chance of this name beside all others and nothing, [0..1]. ``from_day`` to
    ``to_day`` (inclusive) are the days of the weighing intervals in which it happened, or began,
    with chance ``within`` given the name. ``amount`` is what is missing by the end of ``as_of``
    or came unbooked; of a wrong reading what it shows too much (below 0: too little).
    ``rate_per_day`` only for a steady loss. ``readings`` are the last two, older first.
    """

    case_id: str
    name: Name
    weight: float
    from_day: date
    to_day: date
    within: float
    amount: Size
    rate_per_day: Size | None
    readings: tuple[Measured, ...]
    is_open: bool
    """More likely than not, so that it is to be told."""

    def parts(self) -> dict[str, object]:
        """The same as plain values that fit into JSON; dates ISO 8601 text."""
        return {
            "place": self.case_id,
            "name": self.name,
            "weight": round(self.weight, 4),
            "from_day": self.from_day.isoformat(),
            "to_day": self.to_day.isoformat(),
            "within": round(self.within, 4),
            "amount": _size(self.amount),
            "rate_per_day": _size(self.rate_per_day),
            "readings": [
                {
                    "on": seen.on.isoformat(),
                    "kind": seen.kind,
                    "container": seen.container,
                    "value": seen.value,
                    "expected": seen.expected,
                }
                for seen in self.readings
            ],
            "is_open": self.is_open,
        }


def _size(size: Size | None) -> dict[str, int] | None:
    return None if size is None else {"lo": size.lo, "mid": size.mid, "hi": size.hi}


@dataclass(frozen=True, slots=True)
class Told:
    """A slow thing worth a sentence, with the numbers for it: share or factor p10, p50, p90 [1].

    ``gives_less``, ``gives_more``: use per planned unit is off by more than 5 % with ``chance``;
    ``unticked_done``, ``unticked_left_out``: share of unticked doses that were given all the same.
    ``n`` weighings stand behind it, the last on ``measured_on``.
    """

    habit: Habit
    lo: float
    mid: float
    hi: float
    chance: float
    n: int
    measured_on: date


@dataclass(frozen=True, slots=True)
class Delivery:
    """A possible delivery: in how many days, and the chance of being out by its end."""

    day: int
    out_before: float


@dataclass(frozen=True, slots=True)
class Left:
    """Mean and variance of the usable content left at the end of day 0, 1, .. 400 of one stock,
    over all that may have happened; sums of these over places are those of their pool.
    """

    mean: tuple[float, ...]
    variance: tuple[float, ...]


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
    findings: tuple[Finding, ...] = ()
    """What may be wrong, likeliest first, each with at least a chance of one in ten."""
    told: tuple[Told, ...] = ()
    """Slow things, no alarm."""
    plan_quantiles: tuple[float, ...] = ()
    """The same levels from the plan alone (last measured level, plan as written, sd 10 %), to be
    compared with; empty where no plan is followed.
    """
    width80_if_weighed: float | None = None
    """Days from p10 to p90 that a weighing of every place today would leave; None where nothing is
    weighed.
    """
    sisters: tuple[Sisters, ...] = ()
    """What was held of each place before its own weighings, in the order of the places; the same
    given as ``Case.sisters`` gives the same projection again.
    """
    left: Left | None = None
    """Only with ``Options.keep_left``; without what stands unopened beside the places."""

    @property
    def finding(self) -> Finding | None:
        """What is to be told first: a loss when an alarm is open, else another likely thing."""
        if self.alarm != "none":
            return next((f for f in self.findings if f.name == self.alarm), None)
        return next((f for f in self.findings if f.is_open), None)

    def quantile(self, level: float) -> float:
        """The quantile at one of :data:`LEVELS`, in days."""
        return self.quantiles[LEVELS.index(level)]

    @property
    def is_never_measured(self) -> bool:
        """Nothing but the plan stands behind it."""
        return self.measured_n == 0
