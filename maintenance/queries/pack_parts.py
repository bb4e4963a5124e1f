"""Small parts of the round pack: an empty stop, a dose by pump or cup, the day of asking."""

from __future__ import annotations

import hashlib
from datetime import date, datetime
from typing import Any

from inventory.forecast.press import CUP_ABOVE_UL, presses_for
from inventory.queries.plans import Planned
from inventory.queries.supply import Feeder
from maintenance.models import DueTask

Json = dict[str, Any]

BARE_STOP: Json = {
    "own_tools": False,
    "since": [],
    "tasks": [],
    "check": None,
    "looks": [],
    "readings": [],
    "batches": [],
    "doses": [],
    "feeds": [],
    "asks_photo": False,
}


def dose_json(planned: Planned, feeder: Feeder | None) -> Json:
    """How a dose is measured: presses of the pump that feeds the tank, or a cup."""
    bottle = {"code": feeder.container_code, "name": feeder.container_name} if feeder else None
    cup = planned.amount_base > CUP_ABOVE_UL or feeder is None
    if cup or feeder is None:
        return {
            "tool": "cup",
            "planned_ul": planned.amount_base,
            "presses": None,
            "per_press_ul": None,
            "measured_on": None,
            "bottle": bottle,
        }
    return {
        "tool": "pump",
        "planned_ul": planned.amount_base,
        "presses": presses_for(planned.amount_base, feeder.press_nominal_ul),
        "per_press_ul": feeder.press.ul,
        "measured_on": feeder.press.measured_at.date().isoformat()
        if feeder.press.measured_at
        else None,
        "bottle": bottle,
    }


def of_kind(tasks: list[DueTask], kind: str) -> DueTask | None:
    """The first task of a kind."""
    return next((task for task in tasks if task.template.kind == kind), None)


def is_asked_on(code: str, on: date) -> bool:
    """Is this the day of its week on which a tank is asked for a number?

    One day in each calendar week, drawn from code and week, so that it repeats for whoever asks
    again and is no habit of a weekday.
    """
    year, week, weekday = on.isocalendar()
    return _draw(code, year, week)[0] % 7 == weekday - 1


def is_photo_asked_on(code: str, on: date) -> bool:
    """Is this the day of its week on which a tank is asked for a photo?

    As :func:`is_asked_on`, and never on the day of the number: one stop asks for one thing more.
    """
    year, week, weekday = on.isocalendar()
    drawn = _draw(code, year, week)
    return (drawn[0] + 1 + drawn[1] % 6) % 7 == weekday - 1


def _draw(code: str, year: int, week: int) -> bytes:
    return hashlib.sha256(f"{code} {year} {week}".encode()).digest()


def iso(moment: datetime | None) -> str | None:
    """An instant as the pack writes it."""
    return moment.isoformat() if moment else None
