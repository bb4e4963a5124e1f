"""The one door: cases in, projections out.

Each stock is followed with two speeds of drift from what its sisters teach, its plan ahead is drawn
from what is left, and the order is set back from the run-out by what is known of deliveries.
Nothing is drawn at random: the same group of sisters gives the same projections in any order and
beside any other group.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log, sqrt
from typing import TypedDict

import numpy as np

from inventory.forecast import delivery, intermittent, runout
from inventory.forecast.bank import Held, alarm, held
from inventory.forecast.because import Findings, reasons
from inventory.forecast.days import Days
from inventory.forecast.posterior import Posterior, follow
from inventory.forecast.prior import Floats
from inventory.forecast.sisters import Learned, known_as, learn
from inventory.forecast.types import Alarm, Case, Delivery, Pool, Projection

ENGINE = "filter-3"
"""Stored with every forecast; a change of arithmetic changes it."""
WALKS: tuple[tuple[float, float], ...] = ((0.002, 0.85), (0.012, 0.15))
"""Drift of a factor per square root of a day, and its prior weight."""
RECENT_DAYS = 30


@dataclass(frozen=True, slots=True)
class Followed:
    """One place followed with every speed of drift."""

    case: Case
    days: Days
    states: tuple[Posterior, ...]
    held: tuple[Held, ...]
    """What may have happened, from the speed of drift with more evidence."""

    def parts(self, k: int) -> list[tuple[float, Posterior]]:
        """Shares and states with speed ``k``, unless something happened."""
        changed = [(one.share, one.state) for one in self.held[1:]]
        return [(self.held[0].share, self.states[k]), *changed]


def project(stocks: Sequence[Case | Pool]) -> list[Projection]:
    """Run-out, order-by, alarm, factor and reasons of each stock, in the order given.

    Raises ValueError naming the case when it contradicts itself (unknown container, too many
    ticks).
    """
    learned = learn([case for stock in stocks for case in _places(stock)])
    return [_project(stock, learned) for stock in stocks]


def _places(stock: Case | Pool) -> tuple[Case, ...]:
    """The places of a stock that use by a plan."""
    if isinstance(stock, Pool):
        return stock.places
    return (stock,) if stock.demand is None else ()


def _project(stock: Case | Pool, learned: Learned) -> Projection:
    if isinstance(stock, Case) and stock.demand is not None:
        return _project_asked(stock)
    places = _places(stock)
    if not places:
        msg = f"{stock.case_id}: a pool needs at least one place"
        raise ValueError(msg)
    followed = [_follow(case, learned) for case in places]
    reserve = (stock.reserve, stock.reserve_sd) if isinstance(stock, Pool) else (0.0, 0.0)
    log_weights = [
        log(prior) + sum(f.states[k].log_evidence for f in followed)
        for k, (_, prior) in enumerate(WALKS)
    ]
    share = runout.weights(log_weights)
    out_by = _out_by(followed, share, reserve)
    return _conclude(stock, followed, share, out_by, reserve)


def _follow(case: Case, learned: Learned) -> Followed:
    days, belief = learned[known_as(case)]
    states = tuple(follow(case, days, walk, belief) for walk, _ in WALKS)
    weight = [s.log_evidence + log(prior) for s, (_, prior) in zip(states, WALKS, strict=True)]
    best = states[int(np.argmax(weight))]
    return Followed(case, days, states, held(case, days, best, belief))


def _out_by(followed: list[Followed], share: Floats, reserve: tuple[float, float]) -> Floats:
    """Chance to be out, mixed over drift and, for a stock in one place, over what happened.

    Of several places each gives its mean and variance, as only their sum must last.
    """
    mixed: list[tuple[float, runout.Left]] = []
    for k, weight in enumerate(share):
        ahead = [
            [(part, runout.content_ahead(f.case, f.days, state)) for part, state in f.parts(k)]
            for f in followed
        ]
        if len(ahead) == 1:
            mixed += [(weight * part, left) for part, left in ahead[0]]
        else:
            places = [runout.matched(parts) for parts in ahead]
            mixed.append((weight, sum(places[1:], places[0])))
    logs = [log(max(weight, 1e-300)) for weight, _ in mixed]
    return runout.mix([left.with_reserve(*reserve).out_by() for _, left in mixed], logs)


def _conclude(
    stock: Case | Pool,
    followed: list[Followed],
    share: Floats,
    out_by: Floats,
    reserve: tuple[float, float],
) -> Projection:
    first = followed[0].case
    level = _mixed(share, [_level(followed, k, reserve) for k in range(len(share))])
    factor = _mixed(share, [_factor(followed, k) for k in range(len(share))])
    planned = any(f.days.lines for f in followed)
    findings = Findings(
        stock=stock,
        days=tuple(f.days for f in followed),
        places=tuple(f.case for f in followed),
        level=level,
        factor=factor if planned else None,
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


def _level(followed: list[Followed], k: int, reserve: tuple[float, float]) -> tuple[float, float]:
    mean, variance = reserve[0], reserve[1] ** 2
    for f in followed:
        m, sd = _mixture([(w, s.level, float(s.cov[0, 0])) for w, s in f.parts(k)])
        mean, variance = mean + m, variance + sd**2
    return mean, variance


def _factor(followed: list[Followed], k: int) -> tuple[float, float]:
    """Mean and variance of the use per planned unit, lines weighted by their recent plan."""
    amounts = [_recent_plan(f.days) for f in followed]
    total = sum(float(a.sum()) for a in amounts)
    if not total:
        return 1.0, 0.0
    mean = variance = 0.0
    for f, amount in zip(followed, amounts, strict=True):
        w = amount / total
        m, sd = _mixture(
            [
                (part, float(w @ s.mean[1:-3]), float(w @ s.cov[1:-3, 1:-3] @ w))
                for part, s in f.parts(k)
            ]
        )
        mean, variance = mean + m, variance + sd**2
    return mean, variance


def _recent_plan(days: Days) -> Floats:
    recent = days.done[:, -RECENT_DAYS:].sum(1)
    if recent.sum() > 0:
        return np.asarray(recent, dtype=np.float64)
    ahead = days.ahead_hand + days.ahead_sure
    return np.asarray(ahead[:, :RECENT_DAYS].sum(1), dtype=np.float64)


def _mixed(share: Floats, parts: list[tuple[float, float]]) -> tuple[float, float]:
    """Mean and sd of a mixture of (mean, variance)."""
    return _mixture([(float(w), m, v) for w, (m, v) in zip(share, parts, strict=True)])


def _mixture(parts: list[tuple[float, float, float]]) -> tuple[float, float]:
    """Mean and sd of a mixture of (weight, mean, variance)."""
    mean = sum(w * m for w, m, _ in parts)
    second = sum(w * (v + (m - mean) ** 2) for w, m, v in parts)
    return mean, sqrt(max(0.0, second))


def _worst(alarms: list[Alarm]) -> Alarm:
    order: tuple[Alarm, ...] = ("steady_loss", "sudden_loss")
    return next((a for a in order if a in alarms), "none")
