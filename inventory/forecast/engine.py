"""The one door: cases in, projections out.

Each stock is followed with three ways to drift from what its sisters teach, its plan ahead is drawn
from what is left, and the order is set back from the run-out by what is known of deliveries.
Nothing is drawn at random: the same group of sisters gives the same projections in any order and
beside any other group, to nine places. Arrays instead of cases: :func:`many.reckon`, the same
steps.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TypedDict

import numpy as np

from inventory.forecast import delivery, findings, intermittent, plan_only, runout
from inventory.forecast import follow as following
from inventory.forecast.because import Findings, reasons
from inventory.forecast.change import NAMES
from inventory.forecast.follow import Followed, follow
from inventory.forecast.pack import known_as, pack
from inventory.forecast.prior import Floats
from inventory.forecast.settle import settled
from inventory.forecast.types import (
    HORIZON_DAYS,
    USUAL,
    Alarm,
    Case,
    Delivery,
    Left,
    Options,
    Pool,
    Projection,
)

ENGINE = "filter-6"
"""Stored with every forecast; a change of arithmetic changes it."""
Known = dict[tuple[str, str], Followed]


def project(stocks: Sequence[Case | Pool], options: Options = USUAL) -> list[Projection]:
    """Run-out, order-by, alarm, findings, factor and reasons of each stock, in the order given.

    Raises ValueError naming the case when it contradicts itself (unknown container, too many
    ticks).
    """
    cases = [case for stock in stocks for case in _places(stock)]
    known = follow(pack(settled(cases), sisters=options.sisters), options) if cases else {}
    return [_project(stock, known, options) for stock in stocks]


def _places(stock: Case | Pool) -> tuple[Case, ...]:
    """The places of a stock that use by a plan."""
    if isinstance(stock, Pool):
        return stock.places
    return (stock,) if stock.demand is None else ()


def _project(stock: Case | Pool, known: Known, options: Options) -> Projection:
    if isinstance(stock, Case) and stock.demand is not None:
        return _project_asked(stock)
    places = [known[known_as(case)] for case in _places(stock)]
    if not places:
        msg = f"{stock.case_id}: a pool needs at least one place"
        raise ValueError(msg)
    reserve = (stock.reserve, stock.reserve_sd) if isinstance(stock, Pool) else (0.0, 0.0)
    out_by = following.out_by(places, reserve)
    first = places[0].case
    found = Findings(
        stock=stock,
        days=tuple(f.days for f in places),
        places=tuple(f.case for f in places),
        level=following.level(places, reserve),
        factor=following.factor(places) if any(f.days.lines for f in places) else None,
        asked_per_day=None,
        **_ordering(stock, first, out_by),
    )
    told = _told(found, out_by, _worst(places), places, reserve)
    return replace(told, left=_left(places)) if options.keep_left else told


def _project_asked(case: Case) -> Projection:
    """Pieces asked for now and then, without a plan."""
    asked = intermittent.asked(case)
    out_by = intermittent.out_by(case, asked)
    found = Findings(
        stock=case,
        days=(),
        places=(case,),
        level=(float(asked.stock), 0.0),
        factor=None,
        asked_per_day=asked.per_day,
        **_ordering(case, case, out_by),
    )
    return _told(found, out_by, "none", [], (0.0, 0.0))


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


def _told(
    found: Findings,
    out_by: Floats,
    alarm: Alarm,
    places: list[Followed],
    reserve: tuple[float, float],
) -> Projection:
    first = found.places[0]
    only = places[0] if len(places) == 1 and isinstance(found.stock, Case) else None
    return Projection(
        case_id=found.stock.case_id,
        unit=first.unit,
        as_of=first.as_of,
        quantiles=_days(runout.quantiles(out_by[None, : HORIZON_DAYS + 1])[0], first),
        order_by=found.order_by,
        risk_at_order_by=found.risk,
        alarm=alarm,
        factor=found.factor[0] if found.factor else None,
        factor_sd=found.factor[1] if found.factor else None,
        level=found.level[0],
        level_sd=found.level[1],
        measured_on=found.measured_on,
        measured_n=found.measured_n,
        deliveries=found.deliveries,
        because=reasons(found),
        findings=findings.of(places),
        told=findings.habits(only, found.factor) if only else (),
        plan_quantiles=plan_only.quantiles(places, reserve[0]) if places else (),
        sisters=tuple(f.taught for f in places),
        width80_if_weighed=following.width_if_weighed(places, reserve) if places else None,
    )


def _left(places: list[Followed]) -> Left:
    together, shown = following.left_together(places), slice(0, HORIZON_DAYS + 1)
    return Left(
        tuple(together.mean[0, shown].tolist()), tuple(together.variance[0, shown].tolist())
    )


def _days(quantiles: Floats, case: Case) -> tuple[float, ...]:
    return tuple(float(day) for day in np.minimum(quantiles, case.horizon_days))


def _worst(places: list[Followed]) -> Alarm:
    alarms = {NAMES[f.alarm] for f in places}
    order: tuple[Alarm, ...] = ("steady_loss", "sudden_loss")
    return next((a for a in order if a in alarms), "none")
