"""What else happens to a cylinder: put right, moved, shared by tanks, marked EMPTY, gone."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any, Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import (
    Container,
    CylinderDetail,
    MovementKind,
    Supply,
    SupplyPurpose,
)
from inventory.services import ledger
from inventory.services.containers import finish
from inventory.services.cylinder_checks import (
    check_serial_is_new,
    check_stamp,
    check_test,
    check_two_people,
    detail_of,
    next_test_of,
    require_c3,
)
from inventory.services.cylinder_steps import PUT_UP, TAKE_DOWN, check_soap, check_ticks
from inventory.services.said import Said, local_day, moment_of, same_house
from inventory.services.supplies import connect_supply, end_supply
from inventory.services.wanting import measured, stock_changed
from tanks.models import Room, Tank

WHOLE_PERMILLE = 1000
REGULATOR_MOST = Mass.kg(5)


@transaction.atomic
def correct_cylinder(
    *,
    container: Container,
    serial: str,
    tare: Mass,
    fill: Mass,
    regulator: Mass | None,
    tested_on: date | None,
    next_test_on: date | None,
    test_rule: str,
    stamp: str,
    is_exchange: bool,
    held_by: str,
    name: str,
    by: Membership,
    at: datetime,
) -> CylinderDetail:
    """Put right what was read off it. What was weighed before keeps the tare of its day.

    Raises
    ------
    Refused
        a stamp that cannot be, a serial that another one has, a regulator of more than 5 kg.
    """
    require(by, "correct", in_=container.showroom)
    container = ledger.lock([container])[container.pk]
    detail = detail_of(container)
    today = local_day(container.showroom, at)
    check_stamp(serial, tare, fill)
    check_test(tested_on, next_test_on, test_rule, today)
    check_serial_is_new(container.showroom, serial, but=container)
    if regulator is not None and not 0 < regulator.mg <= REGULATOR_MOST.mg:
        raise Refused(
            "regulator_out_of_range",
            f"Regulator: {regulator.text()} is not allowed.",
            {"regulator": f"Allowed: more than 0 g, up to {REGULATOR_MOST.text()}."},
            "Leave it empty when the regulator comes off for weighing.",
        )
    before = _stands(container, detail)
    container.tare_mg, container.capacity_base, container.name = tare.mg, fill.mg, name.strip()
    container.save(update_fields=["tare_mg", "capacity_base", "name"])
    detail.serial, detail.fill_mg, detail.is_exchange = serial.strip(), fill.mg, is_exchange
    detail.regulator_mg = regulator.mg if regulator is not None else None
    detail.tested_on, detail.test_rule, detail.stamp = tested_on, test_rule, stamp.strip()
    detail.next_test_on = next_test_of(tested_on, next_test_on, test_rule)
    detail.held_by = held_by.strip()
    detail.save()
    was, now = audit.changed(before, _stands(container, detail))
    if now:
        audit.record(
            by=by, at=at, deed="cylinder.corrected", subject=container, before=was, after=now
        )
        measured(container.showroom, at, container.item, container)
    return detail


@transaction.atomic
def stand_cylinder(
    *,
    container: Container,
    shares: Mapping[Tank, int],
    room: Room | None,
    place: str,
    held_by: str,
    by: Membership,
    at: datetime,
    second: Membership | None = None,
    steps: Mapping[str, datetime] | None = None,
    bubbles: bool | None = None,
    **said: Unpack[Said],
) -> Container:
    """It stands here from now on and feeds these tanks, or none; the connections before end.

    Parameters
    ----------
    shares : whose part of what is weighed, in thousandths; an estimate, 1000 in all
    second : who helps to move it, from 5 kg on
    steps, bubbles : when it is put under a tank or taken off all of them: step -> when it was
        ticked, and what the soapy water showed

    Raises
    ------
    Refused
        shares that are not 1000 in all, a cylinder that is EMPTY, away or gone, nobody to help,
        ``wrong_skill``, ``steps_left`` and ``bubbles`` when it is put up or taken down.
    """
    require(by, "record", in_=container.showroom)
    same_house(container.showroom, room=room, **{f"tank_{t.pk}": t for t in shares})
    container = ledger.lock([container])[container.pk]
    detail = detail_of(container)
    check_here(container, detail)
    check_shares(shares.values())
    if shares and detail.is_marked_empty:
        raise Refused(
            "marked_empty",
            f"{detail.serial} is marked EMPTY: it feeds no tank.",
            {"tanks": "None, or take the mark away first."},
        )
    open_ones = list(Supply.objects.filter(container=container).still().select_related("tank"))
    if _moves(container, open_ones, shares, room):
        check_two_people(Mass(detail.fill_mg), by, second, detail.serial)
    if {supply.tank_id for supply in open_ones} != {tank.pk for tank in shares}:
        require_c3(by, local_day(container.showroom, at))
        _check_work(bool(open_ones), bool(shares), steps or {}, bubbles, at)
    for supply in open_ones:
        if shares.get(supply.tank) != _share(supply):
            end_supply(supply=supply, by=by, at=at, **said)
    for tank, share in shares.items():
        connect_supply(
            container=container,
            purpose=SupplyPurpose.GAS,
            tank=tank,
            share_permille=share if len(shares) > 1 else None,
            by=by,
            at=at,
            **said,
        )
    before = {"room": str(container.room or ""), "place": container.place, "held": detail.held_by}
    container.refresh_from_db()
    container.room, container.place = room, place.strip()
    container.save(update_fields=["room", "place"])
    detail.held_by = held_by.strip()
    detail.save(update_fields=["held_by"])
    audit.record(
        by=by,
        at=at,
        deed="cylinder.stands",
        subject=container,
        before=before,
        after={
            "room": str(room or ""),
            "place": container.place,
            "held": detail.held_by,
            "shares": {tank.pk: share for tank, share in shares.items()},
            "second": second.person.name if second is not None else "",
            "steps": {step: when.isoformat() for step, when in (steps or {}).items()},
        },
    )
    stock_changed(container.showroom, at, container.item, container)
    want_work(container.showroom, "watch", at=at)
    return container


def _check_work(
    hung: bool, hangs: bool, steps: Mapping[str, datetime], bubbles: bool | None, at: datetime
) -> None:
    """A thread was opened or closed: was the list of that done?"""
    if hangs and not hung:
        check_ticks(steps, PUT_UP, at)
        check_soap(bubbles)
    elif hung and not hangs:
        check_ticks(steps, TAKE_DOWN, at)


def check_shares(shares: Any) -> None:
    """Thousandths of one cylinder: each more than 0, 1000 in all."""
    found = list(shares)
    if found and (any(share < 1 for share in found) or sum(found) != WHOLE_PERMILLE):
        raise Refused(
            "shares",
            f"Shares: they are {sum(found)} thousandths in all.",
            {"tanks": "Each at least 1, and 1000 in all: 500 and 500, or 333, 333 and 334."},
            "They are estimates; by bubbles or by plan is good enough.",
        )


def check_here(container: Container, detail: CylinderDetail) -> None:
    """It is neither gone nor with the supplier."""
    if container.finished_on is not None or container.voided_at is not None:
        raise Refused(
            "no_cylinder", f"{detail.serial} has left the house.", {"container": "One here."}
        )
    if detail.away_on is not None:
        raise Refused(
            "away",
            f"{detail.serial} is away for a refill since {detail.away_on:%-d %B}.",
            {"container": "One that is here."},
            "Write down first that it is back.",
        )


@transaction.atomic
def mark_empty(
    *, container: Container, by: Membership, at: datetime, is_empty: bool = True
) -> CylinderDetail:
    """EMPTY stands on it in large letters, or was wiped off again. What is in it stays counted.

    Raises Refused while it feeds a tank.
    """
    require(by, "record", in_=container.showroom)
    container = ledger.lock([container])[container.pk]
    detail = detail_of(container)
    check_here(container, detail)
    if detail.is_marked_empty == is_empty:
        return detail
    if is_empty and Supply.objects.filter(container=container).still().exists():
        raise Refused(
            "feeds_a_tank",
            f"{detail.serial} is connected to a tank.",
            {"container": "One that is taken down."},
            "Change it first; the old one is marked then.",
        )
    detail.is_marked_empty = is_empty
    detail.save(update_fields=["is_marked_empty"])
    audit.record(
        by=by, at=at, deed="cylinder.marked_empty", subject=container, after={"empty": is_empty}
    )
    return detail


@transaction.atomic
def retire_cylinder(
    *, container: Container, reason: str, by: Membership, at: datetime, **said: Unpack[Said]
) -> Container:
    """It leaves for good: scrapped, sold, given back without another one. Its history stays.

    Raises Refused while it feeds a tank, and without a reason.
    """
    require(by, "plan.change", in_=container.showroom)
    container = ledger.lock([container])[container.pk]
    detail = detail_of(container)
    if container.finished_on is not None:
        return container
    if not 3 <= len(reason.strip()) <= 200:
        raise Refused(
            "no_reason",
            "Reason: why does it leave for good?",
            {"reason": "3 to 200 characters."},
        )
    if Supply.objects.filter(container=container).still().exists():
        raise Refused(
            "feeds_a_tank",
            f"{detail.serial} is connected to a tank.",
            {"container": "One that is taken down."},
            "Change it or move it to the store first.",
        )
    audit.record(
        by=by,
        at=at,
        deed="cylinder.retired",
        subject=container,
        before={
            "serial": detail.serial,
            "day": str(local_day(container.showroom, moment_of(at, said))),
        },
        reason=reason.strip(),
    )
    return finish(
        container=container,
        kind=MovementKind.RETURN,
        reason=reason.strip(),
        by=by,
        at=at,
        **said,
    )


def _share(supply: Supply) -> int:
    return supply.share_permille or WHOLE_PERMILLE


def _moves(
    container: Container, fed: list[Supply], shares: Mapping[Tank, int], room: Room | None
) -> bool:
    """Is it carried, or is only what was noted of it put right?"""
    tanks = {supply.tank_id for supply in fed}
    return tanks != {tank.pk for tank in shares} or container.room_id != (room.pk if room else None)


def _stands(container: Container, detail: CylinderDetail) -> dict[str, Any]:
    return {
        "serial": detail.serial,
        "tare_mg": container.tare_mg,
        "fill_mg": detail.fill_mg,
        "regulator_mg": detail.regulator_mg,
        "tested_on": str(detail.tested_on or ""),
        "next_test_on": str(detail.next_test_on or ""),
        "test_rule": detail.test_rule,
        "stamp": detail.stamp,
        "is_exchange": detail.is_exchange,
        "held_by": detail.held_by,
        "name": container.name,
    }
