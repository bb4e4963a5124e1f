"""Three simple forecasts that anybody would make first, to be beaten by the engine.

``plan``: last measured level less what was ticked since; ahead, the plan as written; sd 10 %.
``average``: mean measured use a day of the last 30 days (else of all); ahead, the same every day.
``line``: least squares through the measured levels since the last booking; ahead, the same slope.

Each gives nineteen quantiles in days. Pieces asked for now and then use their mean demand.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import numpy as np

from inventory.forecast.days import Days, lay_out
from inventory.forecast.plan_only import LEAST_SHARE, SPREAD, Z
from inventory.forecast.prior import Floats
from inventory.forecast.types import HORIZON_DAYS, Case, Observation

Points = list[tuple[int, float]]
"""Day relative to ``as_of`` and usable content, in order of time."""
LATELY = 30


def points(case: Case) -> Points:
    """Everything seen, looks in quarters included, as usable content of the whole case."""
    return [((o.on - case.as_of).days, _content(case, o)) for o in case.observations]


def _content(case: Case, seen: Observation) -> float:
    if seen.container is None:
        return seen.value
    place = [v.id for v in case.vessels].index(seen.container)
    own, rest = case.vessels[place], case.vessels[place + 1 :]
    value = seen.value * (own.nominal if seen.kind == "eye" else 1.0)
    return value - own.unusable + sum(v.nominal - v.unusable for v in rest)


def level_now(case: Case, days: Days) -> float:
    """The last level less the ticked use since, with what was booked."""
    at, content = points(case)[-1]
    since = max(0, -at)
    start = case.as_of + timedelta(days=at + 1)
    got = sum(e.amount for e in case.events if start <= e.on <= case.as_of)
    if case.demand is not None:
        used = float(sum(case.demand[len(case.demand) - since :])) if since else 0.0
    else:
        lately = slice(days.past - since, None)
        used = float(days.done[:, lately].sum() + days.twice[:, lately].sum()) if since else 0.0
    return max(0.0, content - used + got)


def plan(case: Case) -> Floats:
    """Quantiles from the plan as written."""
    days = lay_out(case)
    if case.demand is None:
        daily = (days.ahead_hand + days.ahead_sure).sum(0)[:HORIZON_DAYS]
    else:
        daily = np.full(HORIZON_DAYS, max(1e-9, float(np.mean(case.demand))))
    return spread(reach(level_now(case, days), daily), SPREAD)


def average(case: Case) -> Floats:
    """Quantiles from the mean use."""
    days, (at, content) = lay_out(case), points(case)[-1]
    if case.demand is not None:
        rate = max(float(np.mean(case.demand[-LATELY:])), 0.5 / LATELY)
        return spread(level_now(case, days) / rate, 0.5)
    rate, sd = _rate(case, days)
    return spread(max(0.0, (content + rate * at) / rate), sd)


def _rate(case: Case, days: Days) -> tuple[float, float]:
    seen = points(case)
    recent = [p for p in seen if p[0] >= seen[-1][0] - LATELY] if len(seen) > 1 else seen
    recent = recent if len(recent) > 1 else seen[-2:]
    (t0, first), (t1, last) = recent[0], recent[-1]
    if t1 > t0:
        got = sum(e.amount for e in case.events if t0 < (e.on - case.as_of).days <= t1)
        rate = (first + got - last) / (t1 - t0)
        if rate > 0:
            return rate, 0.15
    lately = slice(-LATELY, None)
    planned = days.done[:, lately].sum() + days.unticked[:, lately].sum()
    return max(1e-9, float(planned) / min(LATELY, max(1, days.past))), 0.25


def line(case: Case) -> Floats:
    """Quantiles from a straight line; the average where no line falls."""
    booked = [(e.on - case.as_of).days for e in case.events]
    seen = [p for p in points(case) if not booked or p[0] >= max(booked)]
    if case.demand is not None or len(seen) < 3:
        return average(case)
    t, v = np.array(seen, dtype=np.float64).T
    if np.ptp(t) == 0:
        return average(case)
    slope, now = np.polyfit(t, v, 1)
    if slope >= 0:
        return average(case)
    rest = float(((v - now - slope * t) ** 2).sum()) / (len(t) - 2)
    slope_sd = np.sqrt(rest / max(1e-9, float(((t - t.mean()) ** 2).sum())))
    sd = float(np.clip(np.hypot(slope_sd / -slope, rest**0.5 / max(now, 1e-9)), 0.02, 0.6))
    return spread(max(0.0, float(now / -slope)), sd)


def reach(content: float, daily: Floats) -> float:
    """Day on which the cumulated use reaches the content; 400 when it does not."""
    total = np.concatenate(([0.0], np.cumsum(daily)))
    k = int(np.searchsorted(total, content))
    if k == 0:
        return 0.0
    if k >= len(total):
        return float(HORIZON_DAYS)
    return float(k - 1 + (content - total[k - 1]) / (total[k] - total[k - 1]))


def spread(middle: float, sd: float) -> Floats:
    """A normal around the middle with a relative sd, cut at 0 and 400 days."""
    days = np.clip(middle * np.maximum(LEAST_SHARE, 1 + sd * Z), 0, HORIZON_DAYS)
    return np.asarray(days, dtype=np.float64)


SIMPLE: dict[str, Callable[[Case], Floats]] = {"plan": plan, "average": average, "line": line}
