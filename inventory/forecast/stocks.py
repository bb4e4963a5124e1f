"""Many stocks as arrays: what the engine reckons with.

N stocks with the same number K of plan lines stand beside each other; axes are named in each
field. Shorter records are padded in front, so that the last column of every history is ``as_of``
and the last slot of every row of readings is the latest reading.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from inventory.forecast.prior import ASSUMED, Floats
from inventory.forecast.types import Kind

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

KINDS: tuple[Kind, ...] = tuple(ASSUMED)
OWN_SD, BETWEEN_SD, LINE_SD, DAY_SD = (
    np.array([getattr(ASSUMED[kind], name) for kind in KINDS], dtype=np.float64)
    for name in ("own_sd", "between_sd", "line_sd", "day_sd")
)
"""Assumed standard deviations by number of the kind; see :class:`prior.Assumed`."""
ALONE = -1
"""Group of a stock that has no sisters."""


def numbered(group: Ints) -> Ints:
    """Groups (N,) numbered from 0; each stock without sisters is a group of its own."""
    alone = group == ALONE
    first_free = int(group.max(initial=-1)) + 1
    return np.where(alone, first_free + np.cumsum(alone) - 1, group).astype(np.int64)


@dataclass(frozen=True, slots=True)
class Booked:
    """Bookings of E events. ``at``: day of history (column) or, ahead, days after ``as_of``."""

    stock: Ints
    at: Ints
    amount: Floats
    variance: Floats
    is_receipt: Bools

    def of(self, lo: int, hi: int) -> Booked:
        """Those of the stocks ``lo`` to ``hi`` (exclusive), numbered from 0."""
        own = (self.stock >= lo) & (self.stock < hi)
        return Booked(
            self.stock[own] - lo,
            self.at[own],
            self.amount[own],
            self.variance[own],
            self.is_receipt[own],
        )


NONE_BOOKED = Booked(
    np.zeros(0, dtype=np.int64),
    np.zeros(0, dtype=np.int64),
    np.zeros(0),
    np.zeros(0),
    np.zeros(0, dtype=np.bool_),
)


@dataclass(frozen=True, slots=True)
class Suppliers:
    """S ways of delivery, shared by stocks."""

    arrival: Ints
    """(S, A+1) first delivery day from each day on, counted from ``as_of``; A where none comes."""
    lead: Floats
    """(S, 90) chance that an order is ready after 1, 2, .. days."""
    past_cut_off: Ints
    """(S,) 1 when an order placed today leaves tomorrow."""


@dataclass(frozen=True, slots=True)
class Stocks:
    """N stocks of K lines: H days of history, A days ahead, R slots for readings."""

    kind: Ints
    """(N,) number in :data:`KINDS`."""
    group: Ints
    """(N,) number of the group of sisters (same item and kind), :data:`ALONE` without."""
    ticked: Bools
    """(N,) somebody ticks what was done."""
    usable: Floats
    """(N,) usable content of all containers when full, in the stock's unit."""
    past: Ints
    """(N,) days of history."""
    is_feeder: Floats
    """(N, K) 1 where a feeder gives the portion."""
    done: Floats
    """(N, K, H) ticked plan of a day; a day ticked twice stands once."""
    twice: Floats
    """(N, K, H) plan of days ticked twice."""
    unticked: Floats
    """(N, K, H) plan of days that nobody ticked."""
    hand: Floats
    """(N, K, A) plan ahead that somebody has to tick."""
    sure: Floats
    """(N, K, A) plan ahead that a feeder, valve or timer gives."""
    counts: Floats
    """(N, 3) planned doses of the last 120 days done, skipped, unticked."""
    seen_at: Ints
    """(N, R) column of the history that a reading closes (H = the end of ``as_of``)."""
    is_seen: Bools
    """(N, R) there is a reading in this slot."""
    content: Floats
    """(N, R) usable content of the whole stock that the reading says."""
    variance: Floats
    """(N, R) its variance."""
    other_scale: Floats
    """(N, R) 1 for the scale used less often."""
    fill: Floats
    """(N, R+1) variance of the content of containers opened before a reading; last: unopened."""
    booked: Booked
    """Receipts, decants and what else moved the content in the past."""
    coming: Booked
    """Decants booked ahead; a receipt ahead does not count: run-out is without one."""
    calibrated: Booked
    """Presses weighed: ``amount`` the factor, ``variance`` its variance."""
    supplier: Ints
    """(N,) number of the way of delivery, -1 without."""
    risk: Floats
    """(N,) accepted chance to be out before the delivery comes."""
    quiet: Bools
    """(N, R) interval before this reading was looked into: nothing is guessed at for it."""
    rate: Floats
    """(N, 2) mean and sd of a steady loss taken as given, per day."""
    loss_days: Floats
    """(N, R+1) days of that loss before each reading, and after the last."""
    runs_on: Bools
    """(N,) that loss goes on after ``as_of``."""
    brings: Bools
    """(N,) what its sisters taught before is taken as it is."""
    brought: Floats
    """(N, 9) mean, variance and day noise held before its own weighings; counts of its group;
    weights of the quicker walk and of a steady drift, and how many doses the shares of its group
    are worth (nan: the usual ones)."""

    def __len__(self) -> int:
        return len(self.kind)

    @property
    def lines(self) -> int:
        """Number of plan lines K."""
        return int(self.done.shape[1])

    @property
    def history(self) -> int:
        """Columns of history H."""
        return int(self.done.shape[2])

    @property
    def slots(self) -> int:
        """Slots for readings R."""
        return int(self.seen_at.shape[1])

    @property
    def may_trend(self) -> Bools:
        """(N,) a steady drift is asked for: not where a steady loss is taken as given."""
        return np.asarray(~(self.loss_days.any(1) | self.runs_on), dtype=np.bool_)

    def part(self, lo: int, hi: int) -> Stocks:
        """The stocks ``lo`` to ``hi`` (exclusive), as views where that is possible."""
        cut = {
            f.name: getattr(self, f.name)[lo:hi]
            for f in fields(self)
            if f.name not in {"booked", "coming", "calibrated"}
        }
        return replace(
            self,
            booked=self.booked.of(lo, hi),
            coming=self.coming.of(lo, hi),
            calibrated=self.calibrated.of(lo, hi),
            **cut,
        )
