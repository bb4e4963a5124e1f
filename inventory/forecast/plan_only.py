"""What the plan alone says of the run-out, to be held against the forecast.

The last measured level less what was planned and not skipped since, the plan ahead as written, and
a spread of 10 % (sd). Nothing is learned.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import NormalDist

import numpy as np

from inventory.forecast.follow import Followed
from inventory.forecast.prior import Floats
from inventory.forecast.types import HORIZON_DAYS, LEVELS

SPREAD = 0.10
LEAST_SHARE = 0.02
Z = np.array([NormalDist().inv_cdf(level) for level in LEVELS])


def quantiles(places: Sequence[Followed], reserve: float = 0.0) -> tuple[float, ...]:
    """Days at :data:`LEVELS` of all places together; 400 = not within."""
    left = reserve + sum(level(one) for one in places)
    daily = np.zeros(HORIZON_DAYS)
    for one in places:
        daily += (one.days.ahead_hand + one.days.ahead_sure).sum(0)[:HORIZON_DAYS]
    middle = _reach(max(0.0, left), daily)
    days = np.clip(middle * np.maximum(LEAST_SHARE, 1 + SPREAD * Z), 0, HORIZON_DAYS)
    return tuple(float(day) for day in days)


def level(one: Followed) -> float:
    """Last measured level less the ticked plan since, with bookings; half full when unmeasured."""
    case, days = one.case, one.days
    if one.seen:
        content, at = one.seen[-1].content, one.seen[-1].at
    else:
        content, at = sum(v.nominal - v.unusable for v in case.vessels) / 2, 0
    used = float(days.done[:, at:].sum() + days.twice[:, at:].sum())
    got = sum(e.amount for e in case.events if at <= (e.on - case.history_from).days < days.past)
    return max(0.0, content - used + got)


def _reach(content: float, daily: Floats) -> float:
    cumulated = np.concatenate(([0.0], np.cumsum(daily)))
    k = int(np.searchsorted(cumulated, content))
    if k == 0:
        return 0.0
    if k >= len(cumulated):
        return float(HORIZON_DAYS)
    step = cumulated[k] - cumulated[k - 1]
    return float(k - 1 + (content - cumulated[k - 1]) / step)
