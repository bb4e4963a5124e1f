"""Small cases for the tests of the forecast: one bottle on one tank, changed where a test needs
it.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from inventory.forecast.types import Case, Observation, PlanSegment, Supplier, Vessel

AS_OF = date(2026, 3, 11)
DAYS = 28
WEEKDAYS = "1111111"


def a_line(name: str = "T01", per_day: float = 3.0, **changes: object) -> PlanSegment:
    """A hand-given line that has been planned for a long time."""
    segment = PlanSegment(name, "hand", date(2025, 1, 1), None, WEEKDAYS, per_day)
    return replace(segment, **changes)  # type: ignore[arg-type]


def a_supplier(**changes: object) -> Supplier:
    """Vans on Tuesday and Friday, five days."""
    return replace(Supplier((1, 4), 5.0), **changes)  # type: ignore[arg-type]


def weighed(content: float, days_ago: int, container: str = "c1", **changes: object) -> Observation:
    """A weighing on the usual scale."""
    seen = Observation(
        AS_OF - timedelta(days=days_ago), "weigh", content, container, sd=1.5, resolution=1.0
    )
    return replace(seen, **changes)  # type: ignore[arg-type]


def a_case(**changes: object) -> Case:
    """A 500 mL bottle, 5 unusable, 3 mL a day, all ticked, weighed 484 and 420 mL."""
    case = Case(
        case_id="k1",
        kind="bottle",
        unit="mL",
        as_of=AS_OF,
        history_from=AS_OF - timedelta(days=DAYS - 1),
        vessels=(Vessel("c1", 500.0, 5.0, 5.0),),
        plan=(a_line(),),
        ticks={"T01": "d" * DAYS},
        observations=(weighed(484.0, 21), weighed(421.0, 0)),
        supplier=a_supplier(),
    )
    return replace(case, **changes)  # type: ignore[arg-type]
