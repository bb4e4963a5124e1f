"""Which container feeds what from now on: connected, and taken off again."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.work import want_work
from inventory.models import Container, ItemKind, Supply, SupplyPurpose
from inventory.services import ledger, stock_lines
from inventory.services.amounts import written
from inventory.services.said import Said, local_day, moment_of, same_house
from inventory.services.wanting import stock_changed
from tanks.models import Tank, Zone


@transaction.atomic
def connect_supply(
    *,
    container: Container,
    purpose: SupplyPurpose | str,
    by: Membership,
    at: datetime,
    tank: Tank | None = None,
    zone: Zone | None = None,
    share_permille: int | None = None,
    **said: Unpack[Said],
) -> Supply:
    """This container feeds a tank or a zone from that moment on, in place of the one before.

    Connecting opens a container that was closed. Connected already, nothing changes.

    Raises
    ------
    Refused
        both or neither of tank and zone; a finished container; a moment before the present one was
        connected.
    Unknown
        a tank or zone of another showroom.
    """
    require(by, "record", in_=container.showroom)
    same_house(container.showroom, tank=tank, zone=zone)
    if (tank is None) == (zone is None):
        raise Refused(
            "tank_or_zone", "Choose a tank or a zone, not both.", {"tank": "One of the two."}
        )
    container = ledger.lock([container])[container.pk]
    if container.finished_on is not None or container.voided_at is not None:
        raise Refused("finished", f"{container} was finished.", {"container": "Choose one in use."})
    target: dict[str, Any] = {"tank": tank, "zone": zone}
    moment = moment_of(at, said)
    before = (
        Supply.objects.select_for_update()
        .filter(item=container.item, purpose=purpose, **target)
        .order_by("-from_at", "-pk")
        .first()
    )
    if before is not None and before.to_at is None and before.container_id == container.pk:
        return before
    _close(before, moment)
    row: Supply = written(
        Supply(
            showroom=container.showroom,
            item=container.item,
            purpose=purpose,
            container=container,
            share_permille=share_permille,
            from_at=moment,
            **target,
        )
    )
    if container.opened_on is None:
        container.opened_on = local_day(container.showroom, moment)
        container.save(update_fields=["opened_on"])
    _note(row, "supply.connected", by, at, instead=before)
    if container.item.kind == ItemKind.GAS:
        stock_lines.expect(
            showroom=container.showroom, item=container.item, container=container, at=at
        )
    want_work(container.showroom, "watch", at=at)
    return row


@transaction.atomic
def end_supply(*, supply: Supply, by: Membership, at: datetime, **said: Unpack[Said]) -> Supply:
    """It was taken off and nothing has replaced it yet."""
    require(by, "record", in_=supply.showroom)
    supply = Supply.objects.select_for_update().get(pk=supply.pk)
    if supply.to_at is not None:
        return supply
    supply.to_at = max(moment_of(at, said), supply.from_at)
    supply.save(update_fields=["to_at"])
    _note(supply, "supply.ended", by, at)
    return supply


@transaction.atomic
def end_supplies(*, tank: Tank, by: Membership, at: datetime) -> list[Supply]:
    """No container of its own feeds the tank any more; gives what was taken off, oldest first."""
    rows = Supply.objects.filter(tank=tank).still()
    return [end_supply(supply=one, by=by, at=at) for one in rows.order_by("pk")]


def _close(before: Supply | None, moment: datetime) -> None:
    if before is None:
        return
    if before.from_at > moment or (before.to_at is not None and before.to_at > moment):
        raise Refused(
            "connected_later",
            f"{before.container} was connected there after that.",
            {"done_at": "A moment after the last change."},
            "Correct the time, or take the later entry back first.",
        )
    if before.to_at is None:
        before.to_at = moment
        before.save(update_fields=["to_at"])


def _note(
    row: Supply, deed: str, by: Membership, at: datetime, instead: Supply | None = None
) -> None:
    audit.record(
        by=by,
        at=at,
        deed=deed,
        subject=row.container,
        before={"container": instead.container.code} if instead is not None else None,
        after={"tank": row.tank_id, "zone": row.zone_id, "purpose": str(row.purpose)},
    )
    stock_changed(row.showroom, at, row.item, row.container)
    if instead is not None and instead.container_id != row.container_id:
        stock_changed(row.showroom, at, row.item, instead.container)
