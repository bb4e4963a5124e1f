"""A cylinder is changed: stock, room air and the task that asked for it, in one transaction.

A scale that shows more than a cylinder may hold stops nothing that was done by hand: the change is
booked, and the weighing is kept for a person, not counted.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial

from django.db import transaction

from gallery_ops.kernel.errors import Held, Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.quantity import Mass
from gallery_ops.overview.desk import act
from inventory.models import Container, Scale, Supplier
from inventory.services.cylinder_change import ChangeDone, change_cylinder
from inventory.services.cylinders import NewCylinder
from maintenance.queries.gas_tasks import open_changes
from maintenance.services.completions import complete
from tanks.models import Room, Tank
from tanks.services.rooms import check_room_air

OVERFILLED = "overfilled"


@dataclass(frozen=True, slots=True)
class Changed:
    """The cylinder that is up now, and what a scale said that waits for a person."""

    put_up: Container
    kept: tuple[Refused, ...] = ()


@transaction.atomic
def change(
    *,
    old: Container,
    tanks: list[Tank],
    room: Room | None,
    new: NewCylinder | Container,
    done: ChangeDone,
    room_ppm: int | None,
    old_stays: bool,
    supplier: Supplier | None,
    by: Membership,
    at: datetime,
) -> Changed:
    """Everything that one change says; the due tasks of its tanks are done with it.

    Raises as :func:`change_cylinder`, ``check_room_air`` and ``complete``; nothing is kept then.
    """
    if room is not None and room_ppm is not None:
        check_room_air(room=room, co2_ppm=room_ppm, by=by, at=at, done_at=done.steps.get("alarm"))
    put_up, kept = _booked(
        old=old, new=new, done=done, old_stays=old_stays, supplier=supplier, by=by, at=at
    )
    showroom = by.showroom
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    steps = {step: when.isoformat() for step, when in done.steps.items()}
    for task in open_changes(showroom, tanks, today):
        complete(due_task=task, by=by, at=at, answers={"serial": put_up.cylinder.serial, **steps})
    want_work(showroom, "due_tasks", at=at)
    return Changed(put_up, kept)


def keep_overfilled(
    *,
    container: Container,
    gross: Mass,
    scale: Scale,
    regulator_on: bool,
    by: Membership,
    at: datetime,
) -> Refused | None:
    """A weighing above the fill, kept for a person; what it says. None when it was counted."""
    body = {
        "container": container.code,
        "scale": scale.name,
        "gross_mg": gross.mg,
        "text": gross.text()[:40],
        "regulator_on": regulator_on,
        "asked_again": False,
        "note": None,
    }
    try:
        act(by=by, kind="weigh", body=body, at=at)
    except Refused as no:
        if no.code != OVERFILLED:
            raise
        return no
    return None


def _booked(
    *,
    old: Container,
    new: NewCylinder | Container,
    done: ChangeDone,
    old_stays: bool,
    supplier: Supplier | None,
    by: Membership,
    at: datetime,
) -> tuple[Container, tuple[Refused, ...]]:
    """The change, without the weighings that say more than can be; those are kept beside it."""
    book = partial(
        change_cylinder, old=old, new=new, old_stays=old_stays, supplier=supplier, by=by, at=at
    )
    try:
        with transaction.atomic():
            return book(done=done), ()
    except Held as held:
        if held.code != OVERFILLED or done.scale is None:
            raise
    kept = []
    # the old one leaves with the change: what the scale said of it is told first
    if done.gross_out is not None:
        kept.append(_kept((old, done.gross_out, done.out_regulator_on), done.scale, by, at))
    put_up = book(done=replace(done, gross_out=None, gross_in=None))
    if done.gross_in is not None:
        kept.append(_kept((put_up, done.gross_in, done.in_regulator_on), done.scale, by, at))
    return put_up, tuple(one for one in kept if one is not None)


def _kept(
    side: tuple[Container, Mass, bool], scale: Scale, by: Membership, at: datetime
) -> Refused | None:
    container, gross, regulator_on = side
    return keep_overfilled(
        container=container, gross=gross, scale=scale, regulator_on=regulator_on, by=by, at=at
    )
