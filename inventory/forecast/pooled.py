"""One item in several places, put together from what was kept of each place.

Places are independent given what their group taught, so means, variances and counts add up. After
one tick only its own place is projected again: what it added before is taken out of the sum, what
it adds now is put in.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from math import sqrt
from statistics import NormalDist

import numpy as np

from inventory.forecast import delivery
from inventory.forecast.because import Reason, amount
from inventory.forecast.days import AHEAD_DAYS, Days, lay_out
from inventory.forecast.prior import ASSUMED, Floats
from inventory.forecast.readings import readings
from inventory.forecast.reorder import REVIEW_DAYS, lead_spread, reorder_point
from inventory.forecast.types import (
    HORIZON_DAYS,
    LEVELS,
    Alarm,
    Case,
    Delivery,
    HarmClass,
    Projection,
    Supplier,
    Unit,
)

WEEK = 7
Z_10 = 1.281552
PLAN_SD, PLAN_LEAST = 0.10, 0.02
SCALARS = (
    "level", "level_var", "plan_level", "per_day", "lines", "day_var", "weight", "weighted",
    "weighted_var", "n", "counted", "skipped", "unticked",
)  # fmt: skip
RECENT_DAYS = 30
Changes = list[Mapping[str, object]]


@dataclass(frozen=True, slots=True)
class Part:
    """What one place adds to its item, or the sum over places; amounts in the item's unit.

    ``curves`` (3, 401): mean and variance of what is left and the plan cumulated, at the end of day
    0, 1, .. 400. ``numbers``: see :data:`SCALARS`. ``tally`` counts places by alarm and giver;
    ``changes`` are those of the plan ahead by place.
    """

    curves: Floats
    numbers: Mapping[str, float]
    tally: Mapping[str, int] = field(default_factory=dict)
    changes: Mapping[str, Changes] = field(default_factory=dict)
    measured_on: date | None = None

    def plus(self, other: Part, sign: int = 1) -> Part:
        """The sum of two, or (sign -1) this without the other. The last measurement stays."""
        numbers = {k: self.numbers[k] + sign * other.numbers[k] for k in SCALARS}
        keys = sorted({*self.tally, *other.tally})
        tally = {k: self.tally.get(k, 0) + sign * other.tally.get(k, 0) for k in keys}
        changes = {k: v for k, v in self.changes.items() if k not in other.changes}
        measured = [on for on in (self.measured_on, other.measured_on) if on]
        return Part(
            curves=self.curves + sign * other.curves,
            numbers=numbers,
            tally={k: n for k, n in tally.items() if n},
            changes=changes | dict(other.changes) if sign > 0 else changes,
            measured_on=max(measured, default=None),
        )


def nothing() -> Part:
    """The sum over no place."""
    return Part(np.zeros((3, HORIZON_DAYS + 1)), dict.fromkeys(SCALARS, 0.0))


def together(parts: Iterable[Part]) -> Part:
    """The sum over places."""
    total = nothing()
    for one in parts:
        total = total.plus(one)
    return total


def part_of(case: Case, found: Projection) -> Part:
    """What a place adds; ``found`` must have been made with ``Options(keep_left=True)``."""
    if found.left is None:
        raise ValueError(f"{case.case_id}: what is left by day was not kept.")
    days = lay_out(case)
    ahead = days.ahead_hand + days.ahead_sure
    daily = ahead.sum(0)[:HORIZON_DAYS]
    curves = np.array(
        [found.left.mean, found.left.variance, np.concatenate(([0.0], daily.cumsum()))]
    )
    told = {str(one["what"]): one for one in found.because}
    skipped = told.get("skipped", {})
    counted = _number(skipped.get("n"))
    weight = _recent_plan(days)
    factor, sd = (1.0, 0.0) if found.factor is None else (found.factor, found.factor_sd or 0.0)
    numbers = {
        "level": found.level,
        "level_var": found.level_sd**2,
        "plan_level": _plan_level(case, days),
        "per_day": float(ahead[:, :WEEK].sum()) / WEEK,
        "lines": float((ahead[:, :WEEK].sum(1) > 0).sum()),
        "day_var": ASSUMED[case.kind].day_sd ** 2 * float((ahead[:, :WEEK] ** 2).sum()) / WEEK,
        "weight": weight,
        "weighted": weight * factor,
        "weighted_var": (weight * sd) ** 2,
        "n": float(found.measured_n),
        "counted": counted,
        "skipped": counted * _number(skipped.get("skipped")),
        "unticked": counted * _number(skipped.get("unticked")),
    }
    changes = told.get("changes_ahead", {}).get("changes") or []
    return Part(
        curves=curves,
        numbers=numbers,
        tally={f"alarm:{found.alarm}": 1} | {f"by:{by}": 1 for by in {s.by for s in case.plan}},
        changes={case.case_id: list(changes)} if isinstance(changes, list) and changes else {},
        measured_on=found.measured_on,
    )


@dataclass(frozen=True, slots=True)
class Beside:
    """What belongs to an item beside its places: usable content that stands unopened, with its sd,
    and how it is delivered.
    """

    case_id: str
    unit: Unit
    as_of: date
    reserve: float
    reserve_sd: float
    supplier: Supplier | None
    harm: HarmClass


def conclude(total: Part, beside: Beside) -> Projection:
    """The projection of an item from the sum over its places (two or more)."""
    mean = total.curves[0] + beside.reserve
    out_by = _out_by(mean, np.maximum(total.curves[1], 0.0) + beside.reserve_sd**2)
    supplier = beside.supplier
    deliveries: tuple[Delivery, ...] = ()
    order = risk = None
    if supplier is not None and supplier.delivery_weekdays:
        risks = delivery.risks(supplier, beside.as_of, out_by)
        order = delivery.order_by(risks, beside.harm, HORIZON_DAYS)
        risk = float(risks[order])
        deliveries = delivery.next_deliveries(supplier, beside.as_of, out_by)
    numbers = dict(total.numbers)
    level = numbers["level"] + beside.reserve
    level_sd = sqrt(max(0.0, numbers["level_var"]) + beside.reserve_sd**2)
    weight = numbers["weight"]
    factor = numbers["weighted"] / weight if weight > 0 else None
    factor_sd = sqrt(max(0.0, numbers["weighted_var"])) / weight if weight > 0 else None
    found = Projection(
        case_id=beside.case_id,
        unit=beside.unit,
        as_of=beside.as_of,
        quantiles=_quantiles(out_by),
        order_by=order,
        risk_at_order_by=risk,
        alarm=_worst(total),
        factor=factor,
        factor_sd=factor_sd,
        level=level,
        level_sd=level_sd,
        measured_on=total.measured_on,
        measured_n=round(numbers["n"]),
        deliveries=deliveries,
        because=(),
        plan_quantiles=_plan_only(numbers["plan_level"] + beside.reserve, total.curves[2]),
    )
    return replace(found, because=_reasons(total, beside, found))


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else 0.0


def _recent_plan(days: Days) -> float:
    recent = float(days.done[:, -RECENT_DAYS:].sum())
    ahead = days.ahead_hand + days.ahead_sure
    return recent or float(ahead[:, :RECENT_DAYS].sum())


def _plan_level(case: Case, days: Days) -> float:
    """Last measured level less the ticked plan since, with bookings."""
    seen = readings(case)
    if not seen:
        return 0.0
    content, at = seen[-1].content, seen[-1].at
    used = float(days.done[:, at:].sum() + days.twice[:, at:].sum())
    got = sum(e.amount for e in case.events if at <= (e.on - case.history_from).days < days.past)
    return max(0.0, content - used + got)


def _out_by(mean: Floats, variance: Floats) -> Floats:
    """Chance to be out by the end of each day; held beyond the horizon."""
    from scipy.special import ndtr

    chance = ndtr(mean / -np.sqrt(np.maximum(variance, 1e-18)))
    held = np.maximum.accumulate(chance)
    return np.concatenate((held, np.full(AHEAD_DAYS - HORIZON_DAYS, held[-1])))


def _quantiles(out_by: Floats) -> tuple[float, ...]:
    shown = out_by[: HORIZON_DAYS + 1]
    return tuple(_reached(shown, level) for level in LEVELS)


def _reached(rising: Floats, level: float) -> float:
    k = int(np.searchsorted(rising, level))
    if k == 0:
        return 0.0
    if k >= len(rising):
        return float(HORIZON_DAYS)
    below, above = float(rising[k - 1]), float(rising[k])
    return k - 1 + (level - below) / (above - below)


def _plan_only(level: float, cumulated: Floats) -> tuple[float, ...]:
    middle = _reached(np.maximum.accumulate(cumulated), level)
    spread = (max(PLAN_LEAST, 1 + PLAN_SD * NormalDist().inv_cdf(p)) for p in LEVELS)
    return tuple(min(float(HORIZON_DAYS), middle * times) for times in spread)


def _worst(total: Part) -> Alarm:
    order: tuple[Alarm, ...] = ("steady_loss", "sudden_loss")
    return next((a for a in order if total.tally.get(f"alarm:{a}")), "none")


def _reasons(total: Part, beside: Beside, found: Projection) -> tuple[Reason, ...]:
    unit, on, as_of = beside.unit, found.measured_on, beside.as_of
    return (
        {
            "what": "last_measured",
            "on": on.isoformat() if on else None,
            "age_days": (as_of - on).days if on else None,
            "n": found.measured_n,
            "level": amount(found.level, unit),
            "level_sd": amount(found.level_sd, unit),
        },
        {
            "what": "plan",
            "per_day": amount(total.numbers["per_day"], unit),
            "lines": round(total.numbers["lines"]),
            "asked_for": False,
            "gives": sorted(k[3:] for k in total.tally if k.startswith("by:")),
        },
        _learned(found),
        {"what": "changes_ahead", "changes": _changes(total)},
        _skipped(total),
        _deliveries(found),
        _reorder_point(total, beside, found),
        {"what": "on_order", "kept": False},
        {"what": "past_errors", "n": 0},
    )


def _learned(found: Projection) -> Reason:
    if found.factor is None:
        return {"what": "learned", "factor": None, "n": found.measured_n}
    mean, sd = found.factor, found.factor_sd or 0.0
    return {
        "what": "learned",
        "factor": round(mean, 4),
        "from": round(max(0.0, mean - Z_10 * sd), 4),
        "to": round(mean + Z_10 * sd, 4),
        "n": found.measured_n,
    }


def _changes(total: Part) -> Changes:
    every = [one for changes in total.changes.values() for one in changes]
    return sorted(every, key=lambda one: (str(one.get("on")), str(one.get("line"))))


def _skipped(total: Part) -> Reason:
    counted = total.numbers["counted"]
    if counted < 1:
        return {"what": "skipped", "ticked": True, "n": 0}
    return {
        "what": "skipped",
        "ticked": True,
        "skipped": round(total.numbers["skipped"] / counted, 4),
        "unticked": round(total.numbers["unticked"] / counted, 4),
        "n": round(counted),
    }


def _deliveries(found: Projection) -> Reason:
    if found.order_by is None or found.risk_at_order_by is None:
        return {"what": "deliveries", "known": False}
    order = found.as_of + timedelta(days=found.order_by)
    return {
        "what": "deliveries",
        "known": True,
        "next": [
            {
                "on": (found.as_of + timedelta(days=d.day)).isoformat(),
                "out_before": round(d.out_before, 4),
            }
            for d in found.deliveries
        ],
        "order_by": order.isoformat() if found.order_by < HORIZON_DAYS else None,
        "risk": round(found.risk_at_order_by, 4),
    }


def _reorder_point(total: Part, beside: Beside, found: Projection) -> Reason:
    supplier = beside.supplier
    if supplier is None or not supplier.delivery_weekdays:
        return {"what": "reorder_point", "known": False}
    factor = 1.0 if found.factor is None else found.factor
    lead, lead_sd = lead_spread(supplier.stated_lead_days, supplier.past_lead_days)
    use_sd = sqrt(max(0.0, total.numbers["day_var"])) * factor
    point = reorder_point(total.numbers["per_day"] * factor, use_sd, lead, lead_sd)
    return {
        "what": "reorder_point",
        "known": True,
        "point": amount(point.point, beside.unit),
        "safety": amount(point.safety, beside.unit),
        "lead_days": round(lead, 1),
        "lead_sd_days": round(lead_sd, 1),
        "lead_n": len(supplier.past_lead_days),
        "review_days": REVIEW_DAYS,
        "reached": found.level <= point.point,
    }
