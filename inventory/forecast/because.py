"""Why does the projection say so? Nine answers in fixed order, as keys and values.

No sentence is made here: a page translates the key and formats the numbers. Amounts are
``{"amount": float, "unit": str}``, dates ISO 8601 text, shares 0 to 1; everything fits into JSON.

Keys in order: last_measured, plan, learned, changes_ahead, skipped, deliveries, reorder_point,
on_order, past_errors.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from math import sqrt

from inventory.forecast.days import Days
from inventory.forecast.prior import ASSUMED, Floats
from inventory.forecast.reorder import REVIEW_DAYS, lead_spread, reorder_point
from inventory.forecast.types import HORIZON_DAYS, Case, Delivery, PlanSegment, Pool

Reason = Mapping[str, object]
Z_10 = 1.281552
"""Standard normal 90 % quantile: the shown interval is p10 to p90."""
SHOWN_AHEAD_DAYS = 90
WEEK = 7


@dataclass(frozen=True, slots=True)
class Findings:
    """What the engine found, for the reasons. ``level`` and ``factor`` are mean and sd."""

    stock: Case | Pool
    places: tuple[Case, ...]
    days: tuple[Days, ...]
    level: tuple[float, float]
    factor: tuple[float, float] | None
    asked_per_day: float | None
    """Pieces asked for a day where there is no plan."""
    deliveries: tuple[Delivery, ...]
    order_by: int | None
    risk: float | None

    @property
    def measured_on(self) -> date | None:
        """Day of the last weighing or count."""
        return max(self._measured(), default=None)

    @property
    def measured_n(self) -> int:
        """How many weighings and counts stand behind it."""
        return len(self._measured())

    @property
    def unit(self) -> str:
        """Unit of the stock."""
        return self.places[0].unit

    @property
    def as_of(self) -> date:
        """Last day of which anything is known."""
        return self.places[0].as_of

    def _measured(self) -> list[date]:
        return [
            o.on
            for case in self.places
            for o in case.observations
            if o.kind in {"weigh", "count"} and o.on <= case.as_of
        ]


def reasons(found: Findings) -> tuple[Reason, ...]:
    """The nine answers in their fixed order."""
    return (
        _last_measured(found),
        _plan(found),
        _learned(found),
        {"what": "changes_ahead", "changes": _changes(found)},
        _skipped(found),
        _deliveries(found),
        _reorder_point(found),
        {"what": "on_order", "kept": False},
        {"what": "past_errors", "n": 0},
    )


def amount(value: float, unit: str) -> Reason:
    """A number with its unit, rounded to a thousandth of the unit."""
    return {"amount": round(value, 3), "unit": unit}


def _last_measured(found: Findings) -> Reason:
    on = found.measured_on
    return {
        "what": "last_measured",
        "on": on.isoformat() if on else None,
        "age_days": (found.as_of - on).days if on else None,
        "n": found.measured_n,
        "level": amount(found.level[0], found.unit),
        "level_sd": amount(found.level[1], found.unit),
    }


def _plan(found: Findings) -> Reason:
    return {
        "what": "plan",
        "per_day": amount(_planned_per_day(found), found.unit),
        "lines": sum(_lines_ahead(d) for d in found.days),
        "asked_for": found.asked_per_day is not None,
        "gives": sorted({s.by for case in found.places for s in case.plan}),
    }


def _learned(found: Findings) -> Reason:
    if found.factor is None:
        return {"what": "learned", "factor": None, "n": found.measured_n}
    mean, sd = found.factor
    return {
        "what": "learned",
        "factor": round(mean, 4),
        "from": round(max(0.0, mean - Z_10 * sd), 4),
        "to": round(mean + Z_10 * sd, 4),
        "n": found.measured_n,
    }


def _skipped(found: Findings) -> Reason:
    counted = sum(d.shares.counted for d in found.days)
    if not counted:
        return {"what": "skipped", "ticked": any(c.ticked for c in found.places), "n": 0}

    def share(name: str) -> float:
        total = sum(getattr(d.shares, name) * d.shares.counted for d in found.days)
        return round(float(total) / counted, 4)

    return {
        "what": "skipped",
        "ticked": True,
        "skipped": share("skipped"),
        "unticked": share("unticked"),
        "n": counted,
    }


def _deliveries(found: Findings) -> Reason:
    if found.order_by is None or found.risk is None:
        return {"what": "deliveries", "known": False}
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
        "order_by": _order_by(found.as_of, found.order_by),
        "risk": round(found.risk, 4),
    }


def _order_by(as_of: date, days: int) -> str | None:
    """The latest day to order; None when nothing asks for it within the horizon."""
    return None if days >= HORIZON_DAYS else (as_of + timedelta(days=days)).isoformat()


def _reorder_point(found: Findings) -> Reason:
    supplier = found.stock.supplier
    if supplier is None or not supplier.delivery_weekdays:
        return {"what": "reorder_point", "known": False}
    factor = found.factor[0] if found.factor else 1.0
    use = _planned_per_day(found) * factor
    squares = _day_variance(found, use)
    lead, lead_sd = lead_spread(supplier.stated_lead_days, supplier.past_lead_days)
    point = reorder_point(use, sqrt(squares) * factor, lead, lead_sd)
    return {
        "what": "reorder_point",
        "known": True,
        "point": amount(point.point, found.unit),
        "safety": amount(point.safety, found.unit),
        "lead_days": round(lead, 1),
        "lead_sd_days": round(lead_sd, 1),
        "lead_n": len(supplier.past_lead_days),
        "review_days": REVIEW_DAYS,
        "reached": found.level[0] <= point.point,
    }


def _day_variance(found: Findings, use: float) -> float:
    """Variance of a day's use; pieces asked for now and then vary as their number (Poisson)."""
    if found.asked_per_day is not None:
        return use
    return sum(
        ASSUMED[case.kind].day_sd ** 2 * float((_first_week(d) ** 2).sum()) / WEEK
        for case, d in zip(found.places, found.days, strict=True)
    )


def _changes(found: Findings) -> list[Reason]:
    """Lines whose planned week changes within the days shown, soonest first."""
    out: list[tuple[date, str, Reason]] = []
    until = found.as_of + timedelta(days=SHOWN_AHEAD_DAYS)
    for case in found.places:
        edges = {(s.line, d) for s in case.plan for d in (s.start, s.end) if d is not None}
        for line, day in edges:
            if not found.as_of < day <= until or _is_seam(case, line, day):
                continue
            was, becomes = (
                _weekly(case.plan, line, day - timedelta(days=1)),
                _weekly(case.plan, line, day),
            )
            if was != becomes:
                change = {
                    "line": line,
                    "on": day.isoformat(),
                    "was": amount(was / WEEK, case.unit),
                    "becomes": amount(becomes / WEEK, case.unit),
                }
                out.append((day, line, change))
    return [change for _, _, change in sorted(out, key=lambda c: (c[0], c[1]))]


def _is_seam(case: Case, line: str, day: date) -> bool:
    """Does only the record end here and the plan go on? A record knows no days of rest."""
    if day != case.as_of + timedelta(days=1):
        return False
    last, first = (
        sum(s.per_day for s in case.plan if s.line == line and _holds(s, d))
        for d in (case.as_of, day)
    )
    return last in (0.0, first)


def _holds(segment: PlanSegment, day: date) -> bool:
    return segment.start <= day and (segment.end is None or day < segment.end)


def _weekly(plan: tuple[PlanSegment, ...], line: str, day: date) -> float:
    return sum(s.per_day * s.weekdays.count("1") for s in plan if s.line == line and _holds(s, day))


def _first_week(days: Days) -> Floats:
    ahead = days.ahead_hand[:, :WEEK] + days.ahead_sure[:, :WEEK]
    return ahead


def _planned_per_day(found: Findings) -> float:
    if found.asked_per_day is not None:
        return found.asked_per_day
    return sum(float(_first_week(d).sum()) for d in found.days) / WEEK


def _lines_ahead(days: Days) -> int:
    return int((_first_week(days).sum(1) > 0).sum())
