"""A bottle ran empty while it was used: that measures its level, and the next takes over.

What the books still held goes as a found difference; nothing that was entered before is rewritten.
"""

from __future__ import annotations

from datetime import datetime
from typing import Unpack
from uuid import UUID

from django.db import transaction

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from inventory.models import Container, Movement, MovementKind, Supply
from inventory.services import ledger
from inventory.services.containers import finish
from inventory.services.said import Said, moment_of
from inventory.services.supplies import connect_supply
from inventory.services.wanting import measured

REASON = "ran empty in use"


@transaction.atomic
def ran_empty(
    *, container: Container, by: Membership, at: datetime, **said: Unpack[Said]
) -> Container:
    """Nothing comes out any more: the ledger holds 0 of it from then on. Said twice, it is once."""
    return finish(container=container, kind=MovementKind.COUNT, reason=REASON, by=by, at=at, **said)


@transaction.atomic
def not_empty(
    *, container: Container, emptied_by: UUID, by: Membership, at: datetime, **said: Unpack[Said]
) -> Container:
    """It was a slip: in use again, the found difference taken back, and it feeds what it fed.

    emptied_by : the action under which it was said to be empty
    """
    require(by, "record", in_=container.showroom)
    container = ledger.lock([container])[container.pk]
    if container.finished_on is None:
        return container
    found = Movement.objects.standing().filter(
        container=container, action_id=emptied_by, kind=MovementKind.COUNT, use=None
    )
    for movement in found:
        ledger.reverse(movement=movement, by=by, at=at, said=said, reason="not empty after all")
    last = Supply.objects.filter(container=container).order_by("-to_at").first()
    ended = (
        Supply.objects.filter(container=container, to_at=last.to_at)
        if last is not None and last.to_at is not None
        else Supply.objects.none()
    )
    for supply in ended:
        taken = Supply.objects.still().filter(
            item=supply.item, purpose=supply.purpose, tank=supply.tank, zone=supply.zone
        )
        if not taken.exists():
            supply.to_at = None
            supply.save(update_fields=["to_at"])
    before = str(container.finished_on)
    container.finished_on = None
    container.save(update_fields=["finished_on"])
    audit.record(
        by=by,
        at=at,
        deed="container.in_use_again",
        subject=container,
        before={"finished_on": before},
        after={"finished_on": None},
    )
    measured(container.showroom, at, container.item, container)
    return container


@transaction.atomic
def take_over(
    *, empty: Container, following: Container, by: Membership, at: datetime, **said: Unpack[Said]
) -> None:
    """The next bottle feeds all that the empty one fed.

    Raises
    ------
    Held
        ``bottle_exchanged`` when somebody connected another one there meanwhile
    """
    moment = moment_of(at, said)
    if empty.item_id != following.item_id or empty.pk == following.pk:
        raise Held(
            "bottle_other_item",
            f"{following} cannot follow {empty}: it holds {following.item.name}.",
            remedy="Look which bottle it was, and enter the dose anew.",
        )
    fed = Supply.objects.filter(container=empty).order_by("-to_at", "-pk")
    if any(row.to_at is None for row in fed):
        raise Held(
            "bottle_not_empty",
            f"{empty} still feeds its tanks: nobody has said that it is empty.",
            remedy="Finish the empty one, then connect this one.",
        )
    newest = fed[0].to_at if fed else None
    for row in [one for one in fed if one.to_at == newest]:
        target = {"tank": row.tank, "zone": row.zone}
        now = Supply.objects.still().filter(item=row.item, purpose=row.purpose, **target).first()
        if now is not None and now.container_id == following.pk:
            continue
        if now is not None or (row.to_at is not None and row.to_at > moment):
            other = now.container if now is not None else empty
            raise Held(
                "bottle_exchanged",
                f"The bottle was exchanged meanwhile: {other} is connected there now.",
                remedy="Look which one it was. If it was that one, enter the dose from it.",
            )
        connect_supply(
            container=following,
            purpose=row.purpose,
            share_permille=row.share_permille,
            by=by,
            at=at,
            **target,
            **said,
        )
