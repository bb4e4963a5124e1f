"""Is something wrong? Plain rules that find it from the facts and say what they saw.

Each rule returns None or a finding with the numbers that made it; thresholds are arguments, their
defaults are common practice without a source. A finding accuses nobody: it names the last
measurements and leaves the cause open.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import sqrt
from statistics import median

from inventory.forecast import press


@dataclass(frozen=True, slots=True)
class WeighedUse:
    """Gas used between two weighings of one line, and what the plan had asked for. In grams."""

    start: date
    end: date
    used_g: float
    planned_g: float

    @property
    def days(self) -> int:
        """Days between the two weighings."""
        return (self.end - self.start).days


@dataclass(frozen=True, slots=True)
class GasRule:
    """When a weighed use is too much.

    ``times_median`` of the line's own median use per planned gram; at least ``least_intervals``
    weighing intervals within ``window_days``, or more than ``least_excess_g`` too much; always more
    than ``noise_sds`` standard deviations of two weighings. ``least_history`` intervals, spanning
    ``least_history_days``, make an own median.
    """

    times_median: float = 1.3
    window_days: int = 10
    least_days: int = 4
    least_intervals: int = 2
    least_excess_g: float = 10.0
    noise_sds: float = 3.0
    least_history: int = 2
    least_history_days: int = 14


@dataclass(frozen=True, slots=True)
class GasFinding:
    """Too much gas went since ``start``: grams a day weighed, planned and usual, n intervals."""

    start: date
    end: date
    g_per_day: float
    planned_g_per_day: float
    usual_g_per_day: float
    intervals: int
    excess_g: float


def gas_over_own_median(
    uses: Sequence[WeighedUse], scale_sd_g: float, rule: GasRule | None = None
) -> GasFinding | None:
    """Has a gas line used more than 1.3 times its own median lately?

    uses : intervals of one line in order of time; across a cylinder exchange they go on
    scale_sd_g : noise of one weighing, sd [g]
    Windows that end with the last weighing and span ``least_days`` to ``window_days`` are looked
    at; the one with the greatest excess is returned. Use is compared per planned gram, so that a
    changed plan is not a leak; gas lost while nothing is planned is all excess. None also when
    there is too little history for an own median.
    Source: common practice, no source (1.3 x own median; two intervals or more than 10 g).
    """
    rule = rule or GasRule()
    found: list[GasFinding] = []
    for first in range(len(uses)):
        window, before = uses[first:], uses[:first]
        span = (window[-1].end - window[0].start).days
        if not rule.least_days <= span <= rule.window_days:
            continue
        usual = _own_median(before, rule)
        if usual is None:
            continue
        finding = _excess(window, usual, span, scale_sd_g, rule)
        if finding:
            found.append(finding)
    return max(found, key=lambda f: f.excess_g, default=None)


def _own_median(before: Sequence[WeighedUse], rule: GasRule) -> float | None:
    planned = [u for u in before if u.planned_g > 0]
    if len(planned) < rule.least_history or sum(u.days for u in planned) < rule.least_history_days:
        return None
    by_day = [u.used_g / u.planned_g for u in planned for _ in range(max(1, u.days))]
    return median(by_day)


def _excess(
    window: Sequence[WeighedUse], usual: float, span: int, scale_sd_g: float, rule: GasRule
) -> GasFinding | None:
    used, planned = sum(u.used_g for u in window), sum(u.planned_g for u in window)
    excess = used - usual * planned
    enough = len(window) >= rule.least_intervals or excess > rule.least_excess_g
    clear = excess > rule.noise_sds * sqrt(2) * scale_sd_g
    if not (used > rule.times_median * usual * planned and enough and clear):
        return None
    return GasFinding(
        start=window[0].start,
        end=window[-1].end,
        g_per_day=used / span,
        planned_g_per_day=planned / span,
        usual_g_per_day=usual * planned / span,
        intervals=len(window),
        excess_g=excess,
    )


@dataclass(frozen=True, slots=True)
class PressFinding:
    """The measured press and the one that instructions still use [uL], and since when it is
    known.
    """

    measured_ul: int
    instructed_ul: int
    measured_on: date
    off_percent: float
    """Signed: -7.6 means that less is given than instructed."""


def press_off(
    measured_ul: int,
    instructed_ul: int,
    measured_on: date,
    off_by_percent: int = press.OFF_BY_PERCENT,
) -> PressFinding | None:
    """Does a pump give more than 5 % more or less than the instruction says?

    >>> press_off(924, 1_000, date(2026, 2, 20)).off_percent
    -7.6
    """
    if not press.is_off(measured_ul, instructed_ul, off_by_percent):
        return None
    off = round(100 * (measured_ul - instructed_ul) / instructed_ul, 1)
    return PressFinding(measured_ul, instructed_ul, measured_on, off)


@dataclass(frozen=True, slots=True)
class TooOldFinding:
    """An opened container that will be too old before it is used up; amounts in the item's unit."""

    opened_on: date
    too_old_on: date
    level: float
    used_until: float
    wasted: float


def too_old_before_used_up(
    *,
    opened_on: date,
    opened_life_days: int,
    as_of: date,
    level: float,
    use_per_day: float,
    nominal: float,
    least_share: float = 0.05,
    printed_expiry: date | None = None,
) -> TooOldFinding | None:
    """Will an opened container be too old before its content is used up?

    level, nominal : content now and of a full one, in the item's unit; use_per_day : expected use
    of the days until then. What would be left over counts from ``least_share`` of a full one. The
    earlier of opened life and printed date decides.

    >>> too_old_before_used_up(opened_on=date(2026, 2, 24), opened_life_days=28,
    ...     as_of=date(2026, 3, 11), level=153.0, use_per_day=4.967, nominal=250.0).wasted
    88.429
    """
    limit = opened_on + timedelta(days=opened_life_days)
    if printed_expiry is not None:
        limit = min(limit, printed_expiry)
    days = max(0, (limit - as_of).days)
    used = min(level, use_per_day * days)
    wasted = level - used
    if wasted <= least_share * nominal:
        return None
    return TooOldFinding(opened_on, limit, round(level, 3), round(used, 3), round(wasted, 3))


def must_reorder(order_by: date, today: date, review_days: int) -> bool:
    """Does the order-by date fall before somebody looks again?

    >>> must_reorder(date(2026, 3, 19), date(2026, 3, 12), 7)
    True
    """
    return order_by <= today + timedelta(days=review_days)
