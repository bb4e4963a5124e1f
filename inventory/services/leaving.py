"""What ends and what goes over when a glass goes out of service or is parted."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from inventory.models import LivestockBatch
from inventory.services.livestock import move
from inventory.services.plans import stop_plans
from inventory.services.said import local_day, same_house
from inventory.services.supplies import end_supplies
from tanks.models import Tank


@transaction.atomic
def disconnect(*, tank: Tank, by: Membership, at: datetime, reason: str) -> None:
    """Nothing is given to it from today on, and no container of its own feeds it any more."""
    require(by, "plan.change", in_=tank.showroom)
    stop_plans(tank=tank, on=local_day(tank.showroom, at), by=by, at=at, reason=reason)
    end_supplies(tank=tank, by=by, at=at)


@transaction.atomic
def move_heads(
    *,
    tank_from: Tank,
    tank_to: Tank,
    counts: Mapping[int, int],
    by: Membership,
    at: datetime,
    note: str,
) -> None:
    """So many of each batch go over; together they stay as many.

    counts : heads by key of the batch; 0 moves none.

    Raises
    ------
    Held
        more of a batch than are counted there.
    """
    same_house(tank_from.showroom, tank_to=tank_to)
    wanted = {key: count for key, count in counts.items() if count}
    batches = LivestockBatch.objects.of(tank_from.showroom).filter(pk__in=wanted).order_by("pk")
    for batch in batches:
        move(
            batch=batch,
            tank_from=tank_from,
            tank_to=tank_to,
            count=wanted[batch.pk],
            by=by,
            at=at,
            note=note[:200],
        )
