"""The one door: cases in, projections out.

Each stock is followed with two speeds of drift from what its sisters teach, its plan ahead is drawn
from what is left, and the order is set back from the run-out by what is known of deliveries.
Nothing is drawn at random: the same group of sisters gives the same projections in any order and
beside any other group.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import TypedDict

import numpy as np

from inventory.forecast import delivery, intermittent, runout
from inventory.forecast.bank import Held, alarm, held
from inventory.forecast.because import Findings, reasons
from inventory.forecast.days import Days
from inventory.forecast.posterior import Posterior
from inventory.forecast.prior import Floats
from inventory.forecast.sisters import Learned, known_as, learn
from inventory.forecast.types import USUAL, Alarm, Case, Delivery, Options, Pool, Projection

ENGINE = "filter-3"
"""Stored with every forecast; a change of arithmetic changes it."""
RECENT_DAYS = 30


@dataclass(frozen=True, slots=True)
class Followed:
    """One place, and all that may have happened there with every speed of drift."""

    case: Case
    days: Days
    held: tuple[Held, ...]


def project(stocks: Sequence[Case | Pool], options: Options = USUAL) -> list[Projection]:
    """Run-out, order-by, alarm, factor and reasons of each stock, in the order given.

    Raises ValueError naming the case when it contradicts itself (unknown container, too many
    ticks).
    """
    learned = learn([case for stock in stocks for case in _places(stock)], options)
    return [_project(stock, learned, options) for stock in stocks]


def _places(stock: Case | Pool) -> tuple[Case, ...]:
    """The places of a stock that use by a plan."""
    if isinstance(stock, Pool):
        return stock.places
    return (stock,) if stock.demand is None else ()


def _project(stock: Case | Pool, learned: Learned, options: Options) -> Projection:
    if isinstance(stock, Case) and stock.demand is not None:
        return _project_asked(stock)
    places = _places(stock)
    if not places:
        msg = f"{stock.case_id}: a pool needs at least one place"
        raise ValueError(msg)
    followed = [_follow(case, learned, options) for case in places]
    reserve = (stock.reserve, stock.reserve_sd) if isinstance(stock, Pool) else (0.0, 0.0)
    return _conclude(stock, followed, _out_by(followed, reserve), reserve)


def _follow(case: Case, learned: Learned, options: Options) -> Followed:
    days, belief = learned[known_as(case)]
    return Followed(case, days, held(case, days, belief, options))


def _out_by(followed: list[Followed], reserve: tuple[float, float]) -> Floats:
    """Chance to be out, mixed over all that may have happened.

    Of several places each gives its mean and variance, as only their sum must last.
    """
    ahead = [
        [(one.share, runout.content_ahead(f.case, f.days, one.state)) for one in f.held]
        for f in followed
    ]
    if len(ahead) == 1:
        return runout.mix([(share, left.with_reserve(*reserve)) for share, left in ahead[0]])
    places = [runout.matched(parts) for parts in ahead]
    return sum(places[1:], places[0]).with_reserve(*reserve).out_by()


def _conclude(
    stock: Case | Pool,
    followed: list[Followed],
    out_by: Floats,
    reserve: tuple[float, float],
) -> Projection:
    first = followed[0].case
    planned = any(f.days.lines for f in followed)
    findings = Findings(
        stock=stock,
        days=tuple(f.days for f in followed),
        places=tuple(f.case for f in followed),
        level=_level(followed, reserve),
        factor=_factor(followed) if planned else None,
        asked_per_day=None,
        **_ordering(stock, first, out_by),
    )
    return _told(findings, out_by, _worst([alarm(f.held) for f in followed]))


def _project_asked(case: Case) -> Projection:
    """Pieces asked for now and then, without a plan."""
    found = intermittent.asked(case)
    out_by = intermittent.out_by(case, found)
    findings = Findings(
        stock=case,
        days=(),
        places=(case,),
        level=(float(found.stock), 0.0),
        factor=None,
        asked_per_day=found.per_day,
        **_ordering(case, case, out_by),
    )
    return _told(findings, out_by, "none")


class _Order(TypedDict):
    deliveries: tuple[Delivery, ...]
    order_by: int | None
    risk: float | None


def _ordering(stock: Case | Pool, first: Case, out_by: Floats) -> _Order:
    """Order-by day, its risk and the next deliveries; nothing where no delivery is known."""
    supplier = stock.supplier
    if supplier is None or not supplier.delivery_weekdays:
        return {"deliveries": (), "order_by": None, "risk": None}
    risk = delivery.risks(supplier, first.as_of, out_by)
    order = delivery.order_by(risk, stock.harm, first.horizon_days)
    return {
        "deliveries": delivery.next_deliveries(supplier, first.as_of, out_by),
        "order_by": order,
        "risk": float(risk[order]),
    }


def _told(found: Findings, out_by: Floats, told: Alarm) -> Projection:
    first = found.places[0]
    return Projection(
        case_id=found.stock.case_id,
        unit=first.unit,
        as_of=first.as_of,
        quantiles=runout.quantiles(out_by, first.horizon_days),
        order_by=found.order_by,
        risk_at_order_by=found.risk,
        alarm=told,
        factor=found.factor[0] if found.factor else None,
        factor_sd=found.factor[1] if found.factor else None,
        level=found.level[0],
        level_sd=found.level[1],
        measured_on=found.measured_on,
        measured_n=found.measured_n,
        deliveries=found.deliveries,
        because=reasons(found),
    )


def _level(followed: list[Followed], reserve: tuple[float, float]) -> tuple[float, float]:
    """Mean and sd of the content of all places and what stands beside them."""
    mean, variance = reserve[0], reserve[1] ** 2
    for f in followed:
        m, v = _mixture([(h.share, h.state.level, float(h.state.cov[0, 0])) for h in f.held])
        mean, variance = mean + m, variance + v
    return mean, sqrt(variance)


def _factor(followed: list[Followed]) -> tuple[float, float]:
    """Mean and sd of the use per planned unit, lines weighted by their recent plan."""
    amounts = [_recent_plan(f.days) for f in followed]
    total = sum(float(a.sum()) for a in amounts)
    if not total:
        return 1.0, 0.0
    mean = variance = 0.0
    for f, amount in zip(followed, amounts, strict=True):
        m, v = _mixture([(h.share, *_use(amount / total, h.state)) for h in f.held])
        mean, variance = mean + m, variance + v
    return mean, sqrt(variance)


def _use(weight: Floats, state: Posterior) -> tuple[float, float]:
    """Mean and variance of the weighted factor of one place."""
    own = slice(1, 1 + state.lines)
    return float(weight @ state.mean[own]), float(weight @ state.cov[own, own] @ weight)


def _recent_plan(days: Days) -> Floats:
    recent = days.done[:, -RECENT_DAYS:].sum(1)
    if recent.sum() > 0:
        return np.asarray(recent, dtype=np.float64)
    ahead = days.ahead_hand + days.ahead_sure
    return np.asarray(ahead[:, :RECENT_DAYS].sum(1), dtype=np.float64)


def _mixture(parts: list[tuple[float, float, float]]) -> tuple[float, float]:
    """Mean and variance of a mixture of (weight, mean, variance)."""
    mean = sum(w * m for w, m, _ in parts)
    return mean, max(0.0, sum(w * (v + (m - mean) ** 2) for w, m, v in parts))


def _worst(alarms: list[Alarm]) -> Alarm:
    order: tuple[Alarm, ...] = ("steady_loss", "sudden_loss")
    return next((a for a in order if a in alarms), "none")
