"""Gas cylinders: a new one comes, one is exchanged for another with its own serial and tare."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import (
    Container,
    ContainerKind,
    CylinderDetail,
    Item,
    Movement,
    MovementKind,
    Scale,
    Supplier,
    Supply,
    SupplyPurpose,
)
from inventory.services import ledger
from inventory.services.amounts import written
from inventory.services.containers import NewContainer, finish, receive
from inventory.services.cylinder_checks import NewCylinder, check_new, next_test_of
from inventory.services.said import Said, local_day, moment_of, same_house
from inventory.services.supplies import connect_supply, end_supply
from inventory.services.weighing import record_weighing
from tanks.models import Room, Tank

__all__ = ["NewCylinder", "add_cylinder", "exchange"]


@transaction.atomic
def add_cylinder(
    *,
    item: Item,
    cylinder: NewCylinder,
    by: Membership,
    at: datetime,
    supplier: Supplier | None = None,
    room: Room | None = None,
    tank: Tank | None = None,
    **said: Unpack[Said],
) -> Container:
    """A full cylinder came; with ``tank`` it is connected there at once.

    Raises
    ------
    Refused
        an item that is no gas, no serial, no tare, a serial that is in the house already.
    """
    require(by, "record", in_=item.showroom)
    same_house(item.showroom, supplier=supplier, room=room, tank=tank)
    known = _came_by(item, said)
    if known is not None:
        return known
    check_new(item, cylinder, local_day(item.showroom, moment_of(at, said)))
    container = receive(
        item=item,
        containers=[
            NewContainer(
                kind=ContainerKind.CYLINDER,
                capacity=cylinder.fill,
                content=cylinder.content,
                tare=cylinder.tare,
                name=cylinder.name,
            )
        ],
        supplier=supplier,
        room=room,
        by=by,
        at=at,
        **said,
    )[0]
    written(
        CylinderDetail(
            showroom=item.showroom,
            container=container,
            serial=cylinder.serial.strip(),
            fill_mg=cylinder.fill.mg,
            tested_on=cylinder.tested_on,
            next_test_on=next_test_of(
                cylinder.tested_on, cylinder.next_test_on, cylinder.test_rule
            ),
            test_rule=cylinder.test_rule,
            stamp=cylinder.stamp.strip(),
            held_by=cylinder.held_by.strip(),
            regulator_mg=cylinder.regulator.mg if cylinder.regulator is not None else None,
            is_exchange=cylinder.is_exchange,
        )
    )
    if cylinder.place.strip():
        container.place = cylinder.place.strip()
        container.save(update_fields=["place"])
    audit.record(
        by=by,
        at=at,
        deed="cylinder.added",
        subject=container,
        after={"serial": cylinder.serial.strip(), "tare": cylinder.tare, "fill": cylinder.fill},
    )
    if tank is not None:
        connect_supply(
            container=container, purpose=SupplyPurpose.GAS, tank=tank, by=by, at=at, **said
        )
    return container


@transaction.atomic
def exchange(
    *,
    old: Container,
    cylinder: NewCylinder | Container,
    by: Membership,
    at: datetime,
    gross_out: Mass | None = None,
    scale: Scale | None = None,
    regulator_on: bool = False,
    supplier: Supplier | None = None,
    old_stays: bool = False,
    **said: Unpack[Said],
) -> Container:
    """The old cylinder comes down and a full one takes its place under the same tanks.

    Parameters
    ----------
    gross_out, scale, regulator_on : the last weighing of the old one; without it the gas that the
        ledger still holds goes back with it, unmeasured
    cylinder : the new one as it is read off, or one that waits in the store; without a regulator
        mass the old one's stays, as the regulator stays
    old_stays : it waits in the house, marked EMPTY, until the supplier comes; else it leaves now

    Returns the new container. Raises as :func:`add_cylinder` and ``record_weighing``.
    """
    require(by, "record", in_=old.showroom)
    known = _came_by(old.item, said)
    if known is not None:
        return known
    old = ledger.lock([old])[old.pk]
    detail = CylinderDetail.objects.filter(container=old).first()
    if detail is None or old.finished_on is not None:
        raise Refused(
            "no_cylinder",
            f"{old} is not a cylinder in use.",
            {"old": "Choose the cylinder that goes out."},
        )
    _weigh_out(old, gross_out, scale, regulator_on, by, at, said)
    fed = list(Supply.objects.filter(container=old).still().select_related("tank", "zone"))
    if old_stays:
        _take_down(detail, fed, by, at, said)
    else:
        finish(
            container=old,
            kind=MovementKind.RETURN,
            reason="exchanged",
            is_changed=True,
            by=by,
            at=at,
            **said,
        )
    new = _put_up(old, detail, cylinder, supplier, by, at, said)
    for supply in fed:
        connect_supply(
            container=new,
            purpose=supply.purpose,
            tank=supply.tank,
            zone=supply.zone,
            share_permille=supply.share_permille,
            by=by,
            at=at,
            **said,
        )
    return new


def _take_down(
    detail: CylinderDetail, fed: list[Supply], by: Membership, at: datetime, said: Said
) -> None:
    for supply in fed:
        end_supply(supply=supply, by=by, at=at, **said)
    CylinderDetail.objects.filter(pk=detail.pk).update(is_marked_empty=True, regulator_mg=None)
    audit.record(
        by=by, at=at, deed="cylinder.marked_empty", subject=detail.container, after={"empty": True}
    )


def _put_up(
    old: Container,
    was: CylinderDetail,
    cylinder: NewCylinder | Container,
    supplier: Supplier | None,
    by: Membership,
    at: datetime,
    said: Said,
) -> Container:
    """The one that takes its place: a new one, or one of the store under the old one's tanks."""
    if isinstance(cylinder, NewCylinder):
        regulator = cylinder.regulator
        if regulator is None and was.regulator_mg is not None:
            regulator = Mass(was.regulator_mg)
        return add_cylinder(
            item=old.item,
            cylinder=_with_regulator(cylinder, regulator, old.name),
            supplier=supplier or old.lot.supplier,
            room=old.room,
            by=by,
            at=at,
            **said,
        )
    same_house(old.showroom, cylinder=cylinder)
    ready: Container = ledger.lock([cylinder])[cylinder.pk]
    detail = CylinderDetail.objects.filter(container=ready).first()
    _check_ready(old, ready, detail)
    if detail is not None and detail.regulator_mg is None and was.regulator_mg is not None:
        detail.regulator_mg = was.regulator_mg
        detail.save(update_fields=["regulator_mg"])
    ready.room, ready.place = old.room, old.place
    ready.save(update_fields=["room", "place"])
    return ready


def _check_ready(old: Container, ready: Container, detail: CylinderDetail | None) -> None:
    """The one of the store is a cylinder of the same gas that waits there with gas in it."""
    why = (
        (detail is None or ready.finished_on is not None, "is not a cylinder of this house"),
        (ready.pk == old.pk, "is the one that comes down"),
        (ready.item_id != old.item_id, "holds another gas"),
        (detail is not None and detail.is_marked_empty, "is marked EMPTY"),
        (detail is not None and detail.away_on is not None, "is away for a refill"),
        (Supply.objects.filter(container=ready).still().exists(), "feeds a tank already"),
    )
    for is_so, words in why:
        if is_so:
            raise Refused(
                "not_ready",
                f"{detail.serial if detail else ready} {words}.",
                {"new": "A cylinder that waits in the store."},
            )


def _weigh_out(
    old: Container,
    gross: Mass | None,
    scale: Scale | None,
    regulator_on: bool,
    by: Membership,
    at: datetime,
    said: Said,
) -> None:
    if gross is None:
        return
    if scale is None:
        raise Refused(
            "scale_missing", "Scale: none was named.", {"scale": "Choose the scale that was used."}
        )
    record_weighing(
        container=old, gross=gross, scale=scale, regulator_on=regulator_on, by=by, at=at, **said
    )


def _with_regulator(cylinder: NewCylinder, regulator: Mass | None, name: str) -> NewCylinder:
    return replace(cylinder, regulator=regulator, name=cylinder.name or name)


def _came_by(item: Item, said: Said) -> Container | None:
    if said.get("action_id") is None:
        return None
    row = (
        Movement.objects.of(item.showroom)
        .filter(action_id=said["action_id"], item=item, kind=MovementKind.RECEIPT, corrects=None)
        .select_related("container")
        .first()
    )
    container: Container | None = row.container if row is not None else None
    return container
