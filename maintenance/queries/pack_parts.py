"""Small parts of the round pack: an empty stop, a dose by pump or cup, the day of asking."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable
from datetime import date, datetime
from typing import Any

from gallery_ops.kernel.models import Showroom
from inventory.forecast.press import CUP_ABOVE_UL, presses_for
from inventory.models import Container, Supply
from inventory.queries.bottle_check import too_old_from
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
    "elsewhere": None,
}


def dose_json(planned: Planned, feeder: Feeder | None, bottles: Bottles) -> Json:
    """How a dose is measured: presses of the pump that feeds the tank, or a cup."""
    bottle = bottles.connected(feeder) if feeder else None
    following = bottles.following(planned.item_id)
    cup = planned.amount_base > CUP_ABOVE_UL or feeder is None
    if cup or feeder is None:
        return {
            "tool": "cup",
            "planned_ul": planned.amount_base,
            "presses": None,
            "per_press_ul": None,
            "measured_on": None,
            "bottle": bottle,
            "next_bottle": following,
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
        "next_bottle": following,
    }


class Bottles:
    """The bottles behind doses: past which date, and which comes next? Two queries."""

    def __init__(
        self, showroom: Showroom, feeders: Iterable[Feeder], items: Collection[int]
    ) -> None:
        fed = {one.container_id for one in feeders}
        rows = Container.objects.of(showroom).filter(voided_at=None).select_related("item", "lot")
        wanted = rows.filter(item_id__in=items, finished_on=None)
        self.by_id = {row.pk: row for row in wanted}
        connected = set(
            Supply.objects.of(showroom).still().filter(item_id__in=items).values_list(
                "container_id", flat=True
            )
        )  # fmt: skip
        spare = [row for row in self.by_id.values() if row.pk not in connected | fed]
        spare.sort(key=lambda row: (too_old_from(row) or date.max, row.pk))
        self.spare: dict[int, Container] = {}
        for row in spare:
            self.spare.setdefault(row.item_id, row)

    def connected(self, feeder: Feeder) -> Json:
        """What feeds the tank, and from which day it is too old."""
        row = self.by_id.get(feeder.container_id)
        limit = too_old_from(row) if row is not None else None
        return {
            "code": feeder.container_code,
            "name": feeder.container_name,
            "too_old_from": limit.isoformat() if limit else None,
        }

    def following(self, item_id: int) -> Json | None:
        """The one to take when that is empty: of those that feed nothing, the first to expire."""
        row = self.spare.get(item_id)
        if row is None:
            return None
        limit = too_old_from(row)
        return {
            "code": row.code,
            "name": str(row),
            "too_old_from": limit.isoformat() if limit else None,
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
