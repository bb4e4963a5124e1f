"""What may have happened to a stock beside its plan, interval by interval, as hypotheses.

To save work, what happens at once is looked for only where a reading missed, and a steady loss
that began long ago only at every second reading with twice the weight.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inventory.forecast import change
from inventory.forecast import filter as kalman
from inventory.forecast.filter import RECENT_READINGS, Noise, Run
from inventory.forecast.prior import UNTICKED_DONE, Floats
from inventory.forecast.stocks import Bools, Ints, Stocks

ONE_OFF_Z = 1.3
EACH_OF_LAST = 10


@dataclass(frozen=True, slots=True)
class Walked:
    """M = W x N columns after the plain filter: every stock with each walk.

    Beside them N columns with a steady drift, where it is asked for.
    """

    stocks: Stocks
    feed: Floats
    done: Run
    of: Ints
    """(M,) stock of each column."""
    weights: Floats
    """(S, N) prior weight of each speed of drift: of each walk and, if asked for, of the trend."""
    noise: Noise
    trended: Run | None = None
    """N columns with a steady drift and the noise of the first walk."""

    @property
    def prior(self) -> Floats:
        """(M,) prior weight of the walk of each column."""
        return self.weights[: self.walks].reshape(-1)

    @property
    def evidence(self) -> Floats:
        """(S, N) log evidence of each stock with each speed."""
        walked = self.done.end.log_evidence.reshape(self.walks, -1)
        if self.trended is None:
            return walked
        return np.concatenate((walked, self.trended.end.log_evidence[None]))

    @property
    def walks(self) -> int:
        """Number of walks W."""
        return len(self.of) // max(1, len(self.stocks))


@dataclass(frozen=True, slots=True)
class Pairs:
    """P hypotheses, sorted by the slot they begin in. ``column`` of the walk they belong to.

    r of a hypothesis is N(size, sd^2); ``first``: how many times r goes from the content before
    reading ``slot``, ``later`` 1 if it goes on each day from then; ``spread`` variance added before
    that reading; ``late``, ``late_var``: a booking of the next interval that came in this one;
    ``misread`` 1: the reading shows r more than there is.
    """

    column: Ints
    slot: Ints
    name: Ints
    weight: Floats
    size: Floats
    sd: Floats
    first: Floats
    later: Floats
    spread: Floats
    late: Floats
    late_var: Floats
    misread: Floats


def hypotheses(walked: Walked, opened: Bools) -> Pairs:
    """All that may have happened within the last 20 readings, with its weight beforehand.

    While a known loss runs, no other size is asked for.
    """
    stocks, done, of = walked.stocks, walked.done, walked.of
    slots = stocks.slots
    from_slot = max(0, slots - RECENT_READINGS)
    days = walked.feed[:slots, kalman.DAYS, :][from_slot:, of]
    first = kalman.first_slot(stocks.is_seen)
    number = np.arange(from_slot, slots)[:, None]
    lookable = (
        opened[of]
        & stocks.is_seen.T[from_slot:, of]
        & (number > first[of])
        & (days > 0)
        & ~stocks.quiet.T[from_slot:, of]
    )
    back = slots - 1 - number
    each = back < EACH_OF_LAST
    far = lookable & (np.abs(done.z[from_slot:]) > ONE_OFF_Z)
    lost = np.cumsum(walked.feed[::-1, kalman.LOSS_DAYS], axis=0)[::-1][from_slot:slots, of]
    is_free = lost == 0
    far &= is_free
    begins = lookable & is_free & (each | ((back - EACH_OF_LAST) % 2 == 0))
    make = _Maker(walked, days, from_slot)
    at_first = opened & (stocks.is_seen.sum(1) <= RECENT_READINGS) & (stocks.is_seen.sum(1) > 1)
    parts = [
        make.steady(begins, np.broadcast_to(np.where(each, 1.0, 2.0), days.shape)),
        make.once(far, change.SUDDEN),
        make.misread(far),
        make.once(far, change.GAIN),
        make.misread_first(at_first[of], first[of]),
        make.late(lookable),
    ]
    merged = [np.concatenate([getattr(p, name) for p in parts]) for name in Pairs.__slots__]
    order = np.argsort(merged[1], kind="stable")
    return Pairs(*(column[order] for column in merged))


class _Maker:
    """Makes hypotheses where a mask (slots, M) says so. ``days`` (slots, M) of each interval."""

    def __init__(self, walked: Walked, days: Floats, from_slot: int) -> None:
        self.walked, self.days, self.from_slot = walked, days, from_slot
        self.usable, self.kind = walked.stocks.usable[walked.of], walked.stocks.kind[walked.of]
        self.use = recent_use(walked)

    def _made(self, slot: Ints, column: Ints, name: int, **given: Floats) -> Pairs:
        zero = np.zeros(len(column))
        rest = ("weight", "size", "sd", "first", "later", "spread", "late", "late_var", "misread")
        return Pairs(
            column.astype(np.int64),
            slot.astype(np.int64),
            np.full(len(column), name, dtype=np.int64),
            **{key: given.get(key, zero) for key in rest},
        )

    def steady(self, where: Bools, times: Floats) -> Pairs:
        row, column = np.nonzero(where)
        days, use = self.days[row, column], self.use[column]
        return self._made(
            row + self.from_slot,
            column,
            change.STEADY,
            weight=days * change.PER_DAY_LEAK[self.kind[column]] * times[row, column],
            size=change.RATE_MEAN * use,
            sd=change.RATE_SD * use,
            first=days / 2,
            later=np.ones(len(column)),
            spread=(change.PART_DAY_SD * days * change.PART_RATE * use) ** 2,
        )

    def once(self, where: Bools, name: int) -> Pairs:
        row, column = np.nonzero(where)
        is_loss = name == change.SUDDEN
        size = (change.LOSS_SHARE if is_loss else change.GAIN_SHARE) * self.usable[column]
        chance = change.PER_DAY_LOSS if is_loss else change.PER_DAY_GAIN
        return self._made(
            row + self.from_slot,
            column,
            name,
            weight=self.days[row, column] * chance,
            size=size,
            sd=size,
            first=np.full(len(column), 1.0 if is_loss else -1.0),
        )

    def misread(self, where: Bools) -> Pairs:
        row, column = np.nonzero(where)
        return self._misread(row + self.from_slot, column)

    def misread_first(self, where: Bools, first: Ints) -> Pairs:
        column = np.flatnonzero(where)
        return self._misread(first[column], column)

    def _misread(self, slot: Ints, column: Ints) -> Pairs:
        of = self.walked.of[column]
        variance = self.walked.feed[slot, kalman.VARIANCE, of]
        return self._made(
            slot,
            column,
            change.MISREAD,
            weight=np.full(len(column), change.MISREAD_CHANCE),
            sd=np.sqrt((change.MISREAD_TIMES - 1) * variance),
            misread=np.ones(len(column)),
        )

    def late(self, where: Bools) -> Pairs:
        """A receipt of the next interval that came in this one."""
        stocks = self.walked.stocks
        booked, slots = stocks.booked, stocks.slots
        own = booked.is_receipt & (booked.at < stocks.history)
        stock = booked.stock[own]
        before = kalman.slot_of(stocks, booked.at[own], stock) - 1
        amount, variance = np.zeros((slots + 1, len(stocks))), np.zeros((slots + 1, len(stocks)))
        np.add.at(amount, (before, stock), booked.amount[own])
        np.add.at(variance, (before, stock), booked.variance[own])
        has = (amount[self.from_slot : slots] != 0)[:, self.walked.of] & where
        has[-1:] = False
        row, column = np.nonzero(has)
        slot, of = row + self.from_slot, self.walked.of[column]
        return self._made(
            slot,
            column,
            change.LATE,
            weight=np.full(len(column), change.LATE_CHANCE),
            late=amount[slot, of],
            late_var=variance[slot, of],
        )


def recent_use(walked: Walked) -> Floats:
    """Use a day lately (M,); where nothing was planned, as of a stock that lasts for long."""
    stocks, of = walked.stocks, walked.of
    lately = slice(-change.USE_DAYS, None)
    given = stocks.done[:, :, lately].sum((1, 2))
    given = given + UNTICKED_DONE * stocks.unticked[:, :, lately].sum((1, 2))
    a_day = given / np.clip(stocks.past, 1, change.USE_DAYS)
    least = stocks.usable / change.LONG_LASTING_DAYS
    use = np.maximum(a_day[of] * walked.done.end.mean_factor, least[of])
    return np.asarray(use, dtype=np.float64)
