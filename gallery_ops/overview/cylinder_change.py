"""A cylinder is changed: stock, room air and the task that asked for it, in one transaction."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.day import business_day
from inventory.models import Container, Supplier
from inventory.services.cylinder_change import ChangeDone, change_cylinder
from inventory.services.cylinders import NewCylinder
from maintenance.queries.gas_tasks import open_changes
from maintenance.services.completions import complete
from tanks.models import Room, Tank
from tanks.services.rooms import check_room_air


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
) -> Container:
    """Everything that one change says; the due tasks of its tanks are done with it.

    Raises as :func:`change_cylinder`, ``check_room_air`` and ``complete``; nothing is kept then.
    """
    if room is not None and room_ppm is not None:
        check_room_air(room=room, co2_ppm=room_ppm, by=by, at=at, done_at=done.steps.get("alarm"))
    put_up = change_cylinder(
        old=old, new=new, done=done, old_stays=old_stays, supplier=supplier, by=by, at=at
    )
    showroom = by.showroom
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    steps = {step: when.isoformat() for step, when in done.steps.items()}
    for task in open_changes(showroom, tanks, today):
        complete(due_task=task, by=by, at=at, answers={"serial": put_up.cylinder.serial, **steps})
    return put_up
