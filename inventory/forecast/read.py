"""A case as a mapping (one line of a case file) turned into a :class:`Case`.

Fields are those of :class:`inventory.forecast.types.Case` with ``containers`` for vessels and
``from``, ``to`` for the period of a plan segment; dates are ISO 8601 text.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import cast

from inventory.forecast.types import (
    By,
    Calibration,
    Case,
    Event,
    Kind,
    Observation,
    PlanSegment,
    Seen,
    Supplier,
    Unit,
    Vessel,
)

Row = Mapping[str, object]


def case_from(row: Row) -> Case:
    """The case of one row. Raises KeyError for a missing field, ValueError for a wrong one."""
    return Case(
        case_id=str(row["case_id"]),
        group=str(row["group"]),
        kind=cast("Kind", row["kind"]),
        unit=cast("Unit", row["unit"]),
        as_of=_day(row["as_of"]),
        history_from=_day(row["history_from"]),
        horizon_days=int(_number(row["horizon_days"])),
        ticked=bool(row["ticked"]),
        vessels=tuple(_vessel(r) for r in _rows(row["containers"])),
        plan=tuple(_segment(r) for r in _rows(row["plan"])),
        ticks={str(k): str(v) for k, v in cast("Row", row["ticks"]).items()},
        observations=tuple(_observation(r) for r in _rows(row["observations"])),
        events=tuple(_event(r) for r in _rows(row["events"])),
        calibration=tuple(_calibration(r) for r in _rows(row["calibration"])),
        supplier=_supplier(cast("Row", row["supplier"])) if row.get("supplier") else None,
        demand=(
            tuple(int(_number(n)) for n in _list(row["demand"]))
            if row["mode"] == "demand"
            else None
        ),
    )


def _vessel(row: Row) -> Vessel:
    return Vessel(
        str(row["id"]),
        _number(row["nominal"]),
        _number(row["fill_sd"]),
        _number(row["unusable"]),
    )


def _segment(row: Row) -> PlanSegment:
    return PlanSegment(
        line=str(row["line"]),
        by=cast("By", row["by"]),
        start=_day(row["from"]),
        end=_day(row["to"]) if row["to"] else None,
        weekdays=str(row["weekdays"]),
        per_day=_number(row["per_day"]),
    )


def _observation(row: Row) -> Observation:
    return Observation(
        on=_day(row["date"]),
        kind=cast("Seen", row["kind"]),
        value=_number(row["value"]),
        container=str(row["container"]) if row.get("container") else None,
        sd=_number(row.get("sd", 0.0)),
        resolution=_number(row.get("resolution", 0.0)),
        scale=str(row.get("scale", "")),
    )


def _event(row: Row) -> Event:
    return Event(
        _day(row["date"]), str(row["kind"]), _number(row["amount"]), _number(row.get("sd", 0.0))
    )


def _calibration(row: Row) -> Calibration:
    return Calibration(_day(row["date"]), _number(row["factor"]), _number(row["sd"]))


def _supplier(row: Row) -> Supplier:
    return Supplier(
        delivery_weekdays=tuple(int(_number(d)) for d in _list(row["delivery_weekdays"])),
        stated_lead_days=_number(row["stated_lead_days"]),
        past_lead_days=tuple(_number(d) for d in _list(row["past_lead_days"])),
        closures=tuple((_day(c[0]), _day(c[1])) for c in map(_list, _list(row["closures"]))),
        past_cut_off_today=bool(row["past_cut_off_today"]),
    )


def _day(value: object) -> date:
    return date.fromisoformat(str(value))


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        msg = f"a number is needed, not {value!r}"
        raise ValueError(msg)
    return float(value)


def _list(value: object) -> Sequence[object]:
    return cast("Sequence[object]", value)


def _rows(value: object) -> Sequence[Row]:
    return cast("Sequence[Row]", value)
