"""The change of a cylinder by somebody with C3: every step ticked, then one entry for all of it.

A change leaves a room with an open thread under some 60 bar for a minute. So nothing is booked
before the whole list is done: alarm read, two people where they are needed, no bubbles in the soap.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Unpack

from django.db import transaction
from django.db.models import Sum

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.values.quantity import Mass, Pieces
from inventory.models import (
    Container,
    CylinderDetail,
    Item,
    Movement,
    MovementKind,
    Scale,
    Supplier,
)
from inventory.services import ledger
from inventory.services.cylinder_care import check_here
from inventory.services.cylinder_checks import (
    NewCylinder,
    check_may_be_filled,
    check_two_people,
    detail_of,
    next_test_of,
    require_c3,
)
from inventory.services.cylinder_steps import STEPS, check_soap, check_ticks
from inventory.services.cylinders import exchange
from inventory.services.said import Said, local_day
from inventory.services.weighing import record_weighing


@dataclass(frozen=True, slots=True)
class ChangeDone:
    """What whoever changed it says.

    Parameters
    ----------
    steps : step -> when it was ticked
    bubbles : whether the soap showed any; None when nobody said
    second : who was there, needed from 5 kg on
    gross_out, gross_in : the old one and the new one on ``scale``, with the regulator on or off
    washer : the item from which the new washer came; None when washers are not kept in stock
    """

    steps: Mapping[str, datetime]
    bubbles: bool | None
    second: Membership | None = None
    gross_out: Mass | None = None
    out_regulator_on: bool = False
    gross_in: Mass | None = None
    in_regulator_on: bool = False
    scale: Scale | None = None
    washer: Item | None = None


@transaction.atomic
def change_cylinder(
    *,
    old: Container,
    new: NewCylinder | Container,
    done: ChangeDone,
    by: Membership,
    at: datetime,
    old_stays: bool,
    supplier: Supplier | None = None,
    **said: Unpack[Said],
) -> Container:
    """The old one is down, the new one is up and tight; returns the new one.

    Raises
    ------
    Refused
        ``wrong_skill``, ``steps_left``, ``bubbles``, ``second_person``, ``test_ran_out``,
        ``stamp_unread``, ``no_washer`` and as :func:`exchange`.
    """
    require(by, "record", in_=old.showroom)
    today = local_day(old.showroom, at)
    require_c3(by, today)
    detail = detail_of(old)
    check_here(old, detail)
    _check_new_one(new, today)
    fill = max(Mass(detail.fill_mg), _fill(new))
    check_two_people(fill, by, done.second, "One of the two")
    check_ticks(done.steps, STEPS, at)
    check_soap(done.bubbles)
    put_up = exchange(
        old=old,
        cylinder=new,
        old_stays=old_stays,
        supplier=supplier,
        regulator_on=done.out_regulator_on,
        by=by,
        at=at,
        gross_out=done.gross_out,
        scale=done.scale,
        **said,
    )
    if done.gross_in is not None and done.scale is not None:
        record_weighing(
            container=put_up,
            gross=done.gross_in,
            scale=done.scale,
            regulator_on=done.in_regulator_on,
            by=by,
            at=at,
        )
    if done.washer is not None:
        take_washer(done.washer, by, at)
    audit.record(
        by=by,
        at=at,
        deed="cylinder.changed",
        subject=put_up,
        before={"serial": detail.serial},
        after={
            "serial": detail_of(put_up).serial,
            "second": done.second.person.name if done.second is not None else "",
            "steps": {step: when.isoformat() for step, when in done.steps.items()},
            "old": "stays, marked EMPTY" if old_stays else "left with the supplier",
        },
    )
    return put_up


def take_washer(item: Item, by: Membership, at: datetime) -> None:
    """One washer leaves the stock, from the container with the fewest. Raises Refused for none."""
    held = (
        Movement.objects.of(by.showroom)
        .filter(item=item, container__finished_on=None, container__voided_at=None)
        .values("container_id")
        .annotate(left=Sum("amount_base"))
        .filter(left__gt=0)
        .order_by("left", "container_id")
        .first()
    )
    if item.dimension != "piece" or held is None:
        raise Refused(
            "no_washer",
            f"{item.name}: the books hold none.",
            {"washer": "One that is in stock, or not from stock."},
            "Count them; a change without a new washer is not done.",
        )
    key = held["container_id"]
    ledger.post(
        item=item,
        kind=MovementKind.MEASURED_USE,
        amount=Pieces(-1),
        container=ledger.lock_keys([key])[key],
        by=by,
        at=at,
        said={},
        reason="washer of a cylinder change",
    )


def _check_new_one(new: NewCylinder | Container, today: date) -> None:
    if isinstance(new, NewCylinder):
        serial, next_on = new.serial, next_test_of(new.tested_on, new.next_test_on, new.test_rule)
        if new.tested_on is None:
            raise _stamp_unread(serial)
    else:
        detail: CylinderDetail = detail_of(new)
        serial, next_on = detail.serial, detail.next_test_on
    if next_on is not None:
        check_may_be_filled(serial, next_on, today, deed="put up")


def _stamp_unread(serial: str) -> Refused:
    return Refused(
        "stamp_unread",
        f"{serial.strip() or 'The new one'} is not put up: nobody read its test stamp.",
        {"tested_on": "The day of the last test, from the stamp."},
        "No stamp that can be read: it goes back to the supplier.",
    )


def _fill(new: NewCylinder | Container) -> Mass:
    return new.fill if isinstance(new, NewCylinder) else Mass(detail_of(new).fill_mg)
