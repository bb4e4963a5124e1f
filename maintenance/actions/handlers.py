"""Which file applies which kind of action?"""

from __future__ import annotations

from typing import Protocol

from maintenance.actions import (
    amend,
    animal,
    check,
    complete,
    container,
    count,
    decant,
    dose,
    eye_count,
    feed,
    feeder_calibration,
    handover_line,
    handover_read,
    incident_close,
    incident_open,
    incident_step,
    move_record,
    note,
    photo,
    press_calibration,
    pressure,
    round_close,
    round_open,
    skip,
    stop_leave,
    unable,
    undo,
    weigh,
)
from maintenance.actions.context import Said


class Handler(Protocol):
    """A module with one function."""

    def apply(self, said: Said, /) -> None:
        """Write the facts that follow, or raise."""


HANDLERS: dict[str, Handler] = {
    "amend": amend,
    "animal": animal,
    "check": check,
    "complete": complete,
    "container": container,
    "count": count,
    "decant": decant,
    "dose": dose,
    "eye_count": eye_count,
    "feed": feed,
    "feeder_calibration": feeder_calibration,
    "handover_line": handover_line,
    "handover_read": handover_read,
    "incident_close": incident_close,
    "incident_open": incident_open,
    "incident_step": incident_step,
    "move_record": move_record,
    "note": note,
    "photo": photo,
    "press_calibration": press_calibration,
    "pressure": pressure,
    "round_close": round_close,
    "round_open": round_open,
    "skip": skip,
    "stop_leave": stop_leave,
    "unable": unable,
    "undo": undo,
    "weigh": weigh,
}
