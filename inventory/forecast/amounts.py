"""How much must be ordered, in whole packs, and why not one pack fewer or one more?

An order covers the time until the order after this one can come. Wanted is the amount that lasts
until then in 19 of 20 cases, less what will be left on arrival, less what is on order; rounded up
to packs; capped by what would go off, what the shelf holds and what may be spent. Amounts are in
base units of the item, days count from the end of today.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import ceil, floor, sqrt
from statistics import NormalDist
from typing import Literal

import numpy as np

from inventory.forecast import delivery
from inventory.forecast.prior import Floats
from inventory.forecast.reorder import REVIEW_DAYS
from inventory.forecast.types import HORIZON_DAYS, Supplier

CERTAIN = 0.95
"""An order must last in so many of cases."""
USED_UP = 0.90
"""A pack must be used up before it is too old with this chance."""
ALMOST_NOTHING = 1e-9
AHEAD_DAYS = HORIZON_DAYS + delivery.LONGEST_LEAD_DAYS

Cap = Literal["", "storage", "printed_life", "opened_life", "cash"]
"""What keeps an order from being larger; empty: nothing does."""


@dataclass(frozen=True, slots=True)
class UseAhead:
    """Use cumulated to the end of day 0, 1, .. T: its mean and variance; (T+1,) each.

    ``variance`` also holds how far the level of today is known. Beyond T both go on as on the last
    day.
    """

    mean: Floats
    variance: Floats

    def by(self, day: float) -> tuple[float, float]:
        """Mean and variance of the use until the end of a day >= 0."""
        last = len(self.mean) - 1
        if day <= last:
            lo = floor(day)
            hi, part = min(lo + 1, last), day - lo
            mean = self.mean[lo] + part * (self.mean[hi] - self.mean[lo])
            spread = self.variance[lo] + part * (self.variance[hi] - self.variance[lo])
            return float(mean), float(spread)
        times = day / last
        return float(self.mean[last]) * times, float(self.variance[last]) * times**2

    def between(self, start: float, end: float) -> tuple[float, float]:
        """Mean and sd of the use after day ``start`` until the end of day ``end``."""
        (a, av), (b, bv) = self.by(start), self.by(end)
        return max(0.0, b - a), sqrt(max(0.0, bv - av))

    def day_of(self, amount: float) -> float | None:
        """Day on which the mean use reaches an amount; None when it never does."""
        if amount <= 0:
            return 0.0
        last = len(self.mean) - 1
        if self.mean[last] <= ALMOST_NOTHING:
            return None
        if amount > self.mean[last]:
            return last * amount / float(self.mean[last])
        k = int(np.searchsorted(self.mean, amount))
        below, above = float(self.mean[k - 1]), float(self.mean[k])
        return k - 1 + (amount - below) / (above - below)


def steady(per_day: float, day_sd: float, spread: float = 0.0, level_sd: float = 0.0) -> UseAhead:
    """The same use every day.

    per_day : base units, >= 0; day_sd : of one day, independent of the others
    spread : sd of what one day's mean is off by, relative to it, the same on all days
    """
    day = np.arange(HORIZON_DAYS + 1.0)
    variance = level_sd**2 + day_sd**2 * day + (per_day * spread * day) ** 2
    return UseAhead(per_day * day, variance)


def from_left(mean: Sequence[float] | Floats, variance: Sequence[float] | Floats) -> UseAhead:
    """From what is left day by day (:class:`inventory.forecast.types.Left`)."""
    left = np.asarray(mean, dtype=np.float64)
    used = np.maximum.accumulate(left[0] - left)
    return UseAhead(used, np.maximum.accumulate(np.asarray(variance, dtype=np.float64)))


@dataclass(frozen=True, slots=True)
class Arrivals:
    """When an order comes: days from today with their chances, which sum to one.

    ``this`` of the order that goes now, ``following`` of the one after it.
    """

    this: tuple[tuple[int, float], ...]
    following: tuple[tuple[int, float], ...]

    @property
    def likely(self) -> int:
        """Day by whose end this order is here in half of cases."""
        return _middle(self.this)

    @property
    def next_likely(self) -> int:
        """The same of the one after it."""
        return _middle(self.following)


def arrivals_of(
    supplier: Supplier, as_of: date, review_days: int = REVIEW_DAYS, *, sent: int = 0
) -> Arrivals:
    """When an order of day ``sent`` comes, and one that goes a review later; closures move both."""
    coming = delivery.arrivals(supplier, as_of, AHEAD_DAYS)
    lead = delivery.lead_time(supplier).by_day()
    first = max(sent, int(supplier.past_cut_off_today))

    def came(day: int) -> tuple[tuple[int, float], ...]:
        by_day: dict[int, float] = {}
        for n, chance in enumerate(lead, start=1):
            here = int(coming[min(day + n, AHEAD_DAYS)])
            by_day[here] = by_day.get(here, 0.0) + float(chance)
        return tuple(sorted(by_day.items()))

    return Arrivals(came(first), came(first + review_days))


def _middle(days: Sequence[tuple[int, float]]) -> int:
    total = 0.0
    for day, chance in sorted(days):
        total += chance
        if total >= 0.5 - ALMOST_NOTHING:
            return day
    return sorted(days)[-1][0]


@dataclass(frozen=True, slots=True)
class Pack:
    """What is sold: so many base units for so many cents, None where no price is known."""

    base: int
    cents: int | None = None
    is_preferred: bool = True


@dataclass(frozen=True, slots=True)
class Limits:
    """What caps an order; None where nothing is known. Lives in days, cash in cents."""

    storage_base: int | None = None
    opened_life_days: int | None = None
    printed_life_days: int | None = None
    cash_cents: int | None = None


@dataclass(frozen=True, slots=True)
class Need:
    """What an order has to cover [base units].

    ``until_next`` lasts from today until the order after this one in 19 of 20 cases; ``left`` is
    what will be there when this one comes, ``coming`` what is on order and comes later than that;
    ``wanted`` is what is missing then.
    """

    until_next: float
    used_before: float
    left: float
    coming: float

    @property
    def target(self) -> float:
        """From the arrival of this order on."""
        return self.until_next - self.used_before

    @property
    def wanted(self) -> float:
        """What an order must bring, 0 where nothing is missing."""
        return max(0.0, self.target - self.left - self.coming)


@dataclass(frozen=True, slots=True)
class Amount:
    """So many of a pack, with the reasons.

    ``enough`` packs would cover the need; ``most`` is the largest number that ``capped_by`` allows,
    None where nothing caps. ``cap_base``: level on the shelf above which more would go off or not
    fit. ``lasts_to``: day on which it is likely gone with this order, None: beyond all days.
    ``fewer_to``: day from which one pack fewer may be gone, with a chance of 1 in 20; None where
    one is the least. ``goes_off``: even the smallest pack is not used up in time.
    """

    pack: Pack
    packs: int
    enough: int
    most: int | None
    capped_by: Cap
    cap_base: int | None
    lasts_to: float | None
    fewer_to: float | None
    goes_off: bool

    @property
    def base(self) -> int:
        """All of it [base units]."""
        return self.packs * self.pack.base

    @property
    def cents(self) -> int | None:
        """What it costs."""
        return None if self.pack.cents is None else self.packs * self.pack.cents

    @property
    def is_short(self) -> bool:
        """Fewer than are needed."""
        return self.packs < self.enough


def need(
    use: UseAhead,
    arrivals: Arrivals,
    level: float,
    coming_before: float = 0.0,
    coming_after: float = 0.0,
) -> Need:
    """What an order of today has to bring.

    level : usable content now; coming_before, coming_after : on order, coming before or after this
        order would. What is asked for while nothing is left is not made up for later.
    """
    arrives = arrivals.likely
    used, _ = use.by(arrives)
    return Need(
        until_next=lasting(use, arrivals.following),
        used_before=used,
        left=max(0.0, level + coming_before - used),
        coming=coming_after,
    )


def lasting(use: UseAhead, until: Sequence[tuple[int, float]], certain: float = CERTAIN) -> float:
    """Amount that lasts from today until an order comes, with a chance of ``certain``.

    until : days and their chances. For the same use every day and a normal lead time this is the
    textbook reorder point of :mod:`inventory.forecast.reorder`, up to whole days.
    """
    spots = [(*use.by(day), chance) for day, chance in until]
    ends = [mean + 8 * sqrt(spread) for mean, spread, _ in spots]
    lo, hi = 0.0, max(ends, default=0.0)
    for _ in range(60):
        middle = (lo + hi) / 2
        if sum(c * _below(middle, m, v) for m, v, c in spots) < certain:
            lo = middle
        else:
            hi = middle
    return hi


def _below(value: float, mean: float, variance: float) -> float:
    if variance <= ALMOST_NOTHING:
        return float(mean <= value + ALMOST_NOTHING)
    return NormalDist(mean, sqrt(variance)).cdf(value)


def amount_of(
    found: Need, use: UseAhead, arrives: int, packs: Sequence[Pack], limits: Limits
) -> Amount:
    """How many of which pack.

    The preferred pack, unless it would go off and a smaller one would not, or a cap keeps it from
    covering the need and another pack covers it; of those the cheapest. Never more than storage,
    printed life and cash allow; never fewer than needed unless one of them caps.

    Raises ValueError when nothing is sold.
    """
    if not packs:
        raise ValueError("Nothing is sold: an amount needs a pack.")
    keeps = [pack for pack in packs if _used_up(pack, use, arrives, limits)]
    goes_off = not keeps
    smallest = min(packs, key=lambda pack: pack.base)
    made = [
        _amount(pack, found, use, arrives, limits, goes_off=goes_off)
        for pack in (keeps or [smallest])
    ]
    best = min(made, key=_worth)
    larger = [pack for pack in packs if pack.base > best.pack.base and pack not in keeps]
    if larger and not best.capped_by and not goes_off:
        return replace(best, capped_by="opened_life")
    return best


def _worth(one: Amount) -> tuple[bool, bool, int, int]:
    cents = one.cents if one.cents is not None else 10**15
    return one.is_short, not one.pack.is_preferred, cents, one.pack.base


def _used_up(pack: Pack, use: UseAhead, arrives: int, limits: Limits) -> bool:
    """Is one opened pack used up within its opened life in nine of ten cases?"""
    if limits.opened_life_days is None:
        return True
    mean, sd = use.between(arrives, arrives + limits.opened_life_days)
    return mean - _Z_USED * sd >= pack.base


_Z_USED = NormalDist().inv_cdf(USED_UP)


def _amount(
    pack: Pack, found: Need, use: UseAhead, arrives: int, limits: Limits, *, goes_off: bool
) -> Amount:
    enough = ceil(found.wanted / pack.base - ALMOST_NOTHING) if found.wanted > 0 else 0
    there = found.left + found.coming
    rooms = _rooms(use, arrives, limits)
    caps: list[tuple[int | None, Cap]] = [
        (max(0, floor((room - there) / pack.base + ALMOST_NOTHING)), why) for room, why in rooms
    ]
    if limits.cash_cents is not None and pack.cents:
        caps.append((max(0, limits.cash_cents // pack.cents), "cash"))
    none: tuple[int | None, Cap] = (None, "")
    most, why = min(caps, default=none, key=lambda cap: cap[0] or 0)
    n = enough if most is None else min(enough, most)
    binds = most is not None and most <= n
    start = found.used_before + there
    return Amount(
        pack=pack,
        packs=n,
        enough=enough,
        most=most,
        capped_by=_cap(why if binds else "", goes_off=goes_off),
        cap_base=min((int(room) for room, _ in rooms), default=None),
        lasts_to=use.day_of(start + n * pack.base),
        fewer_to=_may_be_gone(use, start + (n - 1) * pack.base) if n > 1 else None,
        goes_off=goes_off and n > 0,
    )


def _cap(why: Cap, *, goes_off: bool) -> Cap:
    return why or ("opened_life" if goes_off else "")


def _rooms(use: UseAhead, arrives: int, limits: Limits) -> list[tuple[float, Cap]]:
    """Levels on the shelf at arrival that must not be exceeded, and why [base units]."""
    rooms: list[tuple[float, Cap]] = []
    if limits.storage_base is not None:
        rooms.append((float(limits.storage_base), "storage"))
    if limits.printed_life_days is not None:
        mean, sd = use.between(arrives, arrives + limits.printed_life_days)
        rooms.append((max(0.0, mean - _Z_USED * sd), "printed_life"))
    return rooms


def _may_be_gone(use: UseAhead, amount: float) -> float | None:
    """First day by whose end an amount is gone with a chance of 1 in 20; None: beyond all days."""
    z = NormalDist().inv_cdf(CERTAIN)
    reach = use.mean + z * np.sqrt(np.maximum(use.variance, 0.0))
    over = np.flatnonzero(reach > amount)
    return float(over[0]) if len(over) else None
