"""Bottles, cans, tubs and bags: received, opened, counted, thrown away, finished."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.values.codes import new_code
from gallery_ops.kernel.values.quantity import Mass, Quantity, quantity
from inventory.models import (
    Container,
    ContainerKind,
    Item,
    ItemKind,
    Lot,
    Movement,
    MovementKind,
    Supplier,
    Supply,
)
from inventory.queries.levels import balance_base
from inventory.services import ledger, stock_lines
from inventory.services.amounts import base_of, written
from inventory.services.said import Said, local_day, moment_of, same_house
from inventory.services.wanting import measured, stock_changed
from tanks.models import Room


@dataclass(frozen=True, slots=True)
class NewContainer:
    """A container as it comes out of the box.

    Parameters
    ----------
    kind : bottle, can, tub, bag or cylinder
    capacity : what a full one holds
    content : what is in it; full when left out
    tare : mass of the empty one; without it it cannot be weighed
    press_nominal_ul : what one press of its pump is stated to give [µL]
    """

    kind: ContainerKind | str
    capacity: Quantity
    content: Quantity | None = None
    tare: Mass | None = None
    name: str = ""
    unusable: Quantity | None = None
    press_nominal_ul: int | None = None


@transaction.atomic
def receive(
    *,
    item: Item,
    containers: Sequence[NewContainer],
    by: Membership,
    at: datetime,
    supplier: Supplier | None = None,
    maker_lot: str = "",
    expires_on: date | None = None,
    unit_price_cents: int | None = None,
    room: Room | None = None,
    found: bool = False,
    reason: str = "",
    **said: Unpack[Said],
) -> list[Container]:
    """A delivery came: a lot, its containers with fresh codes, and a receipt for each.

    ``found`` books something that stood in the storeroom and was never entered.

    Raises
    ------
    Refused
        no container, an amount of another dimension, more content than capacity.
    Unknown
        item, supplier or room of another showroom.
    """
    showroom = item.showroom
    require(by, "record", in_=showroom)
    same_house(showroom, supplier=supplier, room=room)
    kind = MovementKind.FOUND if found else MovementKind.RECEIPT
    known = _received_by(showroom, item, kind, said)
    if known:
        return known
    if not containers:
        raise Refused(
            "no_container", "Containers: none was given.", {"containers": "At least one."}
        )
    day = local_day(showroom, moment_of(at, said))
    lot = written(
        Lot(
            showroom=showroom,
            item=item,
            maker_lot=maker_lot.strip(),
            expires_on=expires_on,
            supplier=supplier,
            received_on=day,
            unit_price_cents=unit_price_cents,
        )
    )
    made = []
    for new in containers:
        container, content = _new(item, lot, new, room, day)
        ledger.post(
            item=item,
            kind=kind,
            amount=content,
            container=container,
            by=by,
            at=at,
            said=said,
            reason=reason,
        )
        made.append(container)
    if item.kind != ItemKind.GAS:
        stock_lines.expect(showroom=showroom, item=item, container=None, at=at)
    stock_changed(showroom, at, item, *made)
    return made


@transaction.atomic
def open_container(
    *, container: Container, by: Membership, at: datetime, **said: Unpack[Said]
) -> Container:
    """It was opened: its opened life runs from that day. A container is opened once."""
    require(by, "record", in_=container.showroom)
    container = ledger.lock([container])[container.pk]
    if container.opened_on is not None:
        return container
    day = local_day(container.showroom, moment_of(at, said))
    _change(container, "container.opened", by, at, opened_on=day)
    measured(container.showroom, at, container.item, container)
    return container


@transaction.atomic
def finish(
    *,
    container: Container,
    by: Membership,
    at: datetime,
    kind: MovementKind | str = MovementKind.COUNT,
    reason: str = "empty",
    is_changed: bool = False,
    **said: Unpack[Said],
) -> Container:
    """It is empty or leaves the house: feeds nothing any more, and the ledger holds 0 of it.

    What the ledger still held goes as ``kind``: a count for an empty one, ``waste``, ``expiry`` or
    ``return`` for what left with it.

    Parameters
    ----------
    is_changed : a cylinder under a tank comes down because another takes its place; whoever says
        so has held the list of the change

    Raises
    ------
    Refused
        ``feeds_a_tank`` for a gas cylinder that is connected: a thread under pressure is opened
        by the list of the change, never by an entry about stock.
    """
    require(by, "record", in_=container.showroom)
    container = ledger.lock([container])[container.pk]
    if container.finished_on is not None:
        return container
    fed = list(Supply.objects.filter(container=container).still())
    if fed and container.item.kind == ItemKind.GAS and not is_changed:
        raise Refused(
            "feeds_a_tank",
            f"{container} is connected to a tank.",
            {"container": "A cylinder that is taken down."},
            "Somebody with C3 changes it first, by the list; then it goes.",
        )
    moment = moment_of(at, said)
    rest = balance_base(container)
    if rest:
        ledger.post(
            item=container.item,
            kind=MovementKind(kind),
            amount=quantity(container.item.dimension, -rest),
            container=container,
            by=by,
            at=at,
            said=said,
            reason=reason,
        )
    for supply in fed:
        supply.to_at = max(moment, supply.from_at)
        supply.save(update_fields=["to_at"])
    day = local_day(container.showroom, moment)
    _change(container, "container.finished", by, at, finished_on=day)
    measured(container.showroom, at, container.item, container)
    return container


@transaction.atomic
def change_container(
    *, container: Container, by: Membership, at: datetime, **changes: Any
) -> Container:
    """Put right what was noted of it: name, tare_mg, unusable_base, press_nominal_ul, room."""
    require(by, "correct", in_=container.showroom)
    strange = set(changes) - {"name", "tare_mg", "unusable_base", "press_nominal_ul", "room"}
    if strange:
        raise Refused("unknown_field", f"A container has no {', '.join(sorted(strange))}.")
    same_house(container.showroom, room=changes.get("room"))
    container = ledger.lock([container])[container.pk]
    _change(container, "container.changed", by, at, **changes)
    measured(container.showroom, at, container.item, container)
    return container


@transaction.atomic
def move_container(
    *,
    container: Container,
    room: Room | None,
    place: str,
    by: Membership,
    at: datetime,
) -> Container:
    """It stands elsewhere now: in this room (None: nobody says where) and on this shelf."""
    require(by, "record", in_=container.showroom)
    same_house(container.showroom, room=room)
    container = ledger.lock([container])[container.pk]
    if (container.room_id, container.place) == (room.pk if room else None, place.strip()):
        return container
    _change(container, "container.moved", by, at, room=room, place=place.strip())
    return container


def _new(
    item: Item, lot: Lot, new: NewContainer, room: Room | None, day: date
) -> tuple[Container, Quantity]:
    capacity = base_of(item, new.capacity, field="capacity", least=1)
    content = new.content or new.capacity
    if base_of(item, content, field="content") > capacity:
        raise Refused(
            "above_full",
            f"Content: {content.text()} is more than it holds.",
            {"content": f"Allowed: 0 to {new.capacity.text()}."},
        )
    unusable = base_of(item, new.unusable, field="unusable") if new.unusable is not None else 0
    row: Container = written(
        Container(
            showroom=item.showroom,
            code=_fresh_code(item.showroom),
            name=new.name.strip(),
            item=item,
            lot=lot,
            kind=new.kind,
            capacity_base=capacity,
            tare_mg=new.tare.mg if new.tare is not None else None,
            unusable_base=unusable,
            press_nominal_ul=new.press_nominal_ul,
            room=room,
            received_on=day,
        )
    )
    return row, content


def _fresh_code(showroom: Showroom) -> str:
    code = new_code()
    while Container.objects.of(showroom).filter(code=code).exists():
        code = new_code()
    return code


def _change(container: Container, deed: str, by: Membership, at: datetime, **changes: Any) -> None:
    before = {key: getattr(container, key) for key in changes}
    for key, value in changes.items():
        setattr(container, key, value)
    container.save(update_fields=list(changes))
    audit.record(
        by=by,
        at=at,
        deed=deed,
        subject=container,
        before={key: _said_of(value) for key, value in before.items()},
        after={key: _said_of(value) for key, value in changes.items()},
    )


def _said_of(value: Any) -> Any:
    return str(value) if isinstance(value, Room) else value


def _received_by(showroom: Showroom, item: Item, kind: MovementKind, said: Said) -> list[Container]:
    if said.get("action_id") is None:
        return []
    rows = (
        Movement.objects.of(showroom)
        .filter(action_id=said["action_id"], item=item, kind=kind, corrects=None)
        .select_related("container")
        .order_by("pk")
    )
    return [row.container for row in rows]
