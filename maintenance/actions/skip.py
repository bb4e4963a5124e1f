"""A task was left out with one of the twelve reasons; a dose left out uses nothing."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.values.day import business_day, instant
from inventory.models import Item
from inventory.queries.plans import planned_base
from inventory.services.use import skip_use
from maintenance.actions.context import Said
from maintenance.services.skips import skip
from tanks.models import Tank

FURTHEST = timedelta(days=366)
PURPOSES = {"dose": "dose", "feed": "food"}


def apply(said: Said) -> None:
    """Leave it out; for a dose or food stock learns that nothing was given."""
    body = said.body
    task = said.task(body["task"])
    skip(
        due_task=task,
        reason=body["reason"],
        text=body["text"] or "",
        until_at=_until(said, body["until"]),
        links_to=body["links"] or "",
        **said.moments(),
    )
    given_anyway = body["reason"] in {"already_done", "tank_empty"}
    if task.template.kind in PURPOSES and task.tank is not None and not given_anyway:
        _skip_stock(said, task.tank, PURPOSES[task.template.kind])


def _skip_stock(said: Said, tank: Tank, purpose: str) -> None:
    showroom = said.showroom
    day = business_day(said.done_at_corrected, showroom.tz, showroom.cut_off_hour)
    planned = [row for row in planned_base(showroom, tank, day).values() if row.purpose == purpose]
    items = Item.objects.of(showroom).in_bulk([row.item_id for row in planned])
    for row in planned:
        if row.amount_base:
            skip_use(
                tank=tank,
                item=items[row.item_id],
                purpose=purpose,
                answers={"reason": said.body["reason"]},
                **said.moments(),
            )


def _until(said: Said, text: str | None) -> datetime | None:
    if not text:
        return None
    day, _, hour = text.partition("T")
    try:
        on = date.fromisoformat(day)
        moment = time.fromisoformat(hour) if hour else time(said.showroom.cut_off_hour)
    except ValueError:
        raise _bad_until(text) from None
    if not said.at.date() - FURTHEST <= on <= said.at.date() + FURTHEST:
        raise _bad_until(text)
    return instant(on, moment, said.showroom.tz)


def _bad_until(text: str) -> Refused:
    allowed = "Allowed: a day of the calendar within a year, with or without an hour."
    return Refused("bad_until", f"Until: {text} is no such day.", {"until": allowed})
