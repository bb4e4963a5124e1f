"""Animals that went over to another tank before somebody heard what had happened to them.

A death of the morning that arrives in the evening, from a tablet without the network, was not known
when all were moved into new glass at noon: too many were written down as moved. That is put right
by a further movement, dated at that moment, so that every moment has its true count.
"""

from __future__ import annotations

from datetime import datetime

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.models import Membership
from inventory.models import LivestockBatch, LivestockMovement
from inventory.queries.livestock import head_count
from inventory.services.said import Said, fact_columns
from tanks.models import Tank
from tanks.queries.tanks import leads_to

NOTE = "heard of late: put right with the tank that they went to"


def settle_late(movement: LivestockMovement, by: Membership, at: datetime) -> None:
    """After this was written later than it was so: no tank holds less than none of the batch.

    What a glass out of service still holds goes over as well, to where its animals went.

    Raises
    ------
    Held
        ``gone_since``: later entries already say where the last of them went, and it was no tank.
        What takes an entry back is never held.
    """
    for tank in (movement.tank_from, movement.tank_to):
        if tank is not None and (movement.done_at_corrected < at or tank.retired_at is not None):
            _settle(movement, tank, by, at, frozenset())


def _settle(
    movement: LivestockMovement, tank: Tank, by: Membership, at: datetime, before: frozenset[int]
) -> None:
    """``before`` : tanks from which the shortage came on to this one."""
    batch, moment = movement.batch, movement.done_at_corrected
    tank = Tank.objects.get(pk=tank.pk)
    left = head_count(batch, tank)
    seen = before | {tank.pk}
    if left < 0:
        for into, when, count in _went(batch, tank, moment, seen):
            back = min(-left, count)
            if back > 0:
                _goes(batch, into, tank, back, when, by, at)
                left += back
                _settle(movement, into, by, at, seen)
        if left < 0 and not movement.takes_back:
            raise Held(
                "gone_since",
                f"{batch.species}: what was entered for later leaves {-left} too few there.",
                remedy="Count them; then decide which of the entries is so.",
            )
    elif left > 0 and tank.retired_at is not None:
        into = leads_to(tank, tank.retired_at)
        if into.pk not in seen:
            _goes(batch, tank, into, left, max(tank.retired_at, moment), by, at)
            _settle(movement, into, by, at, seen)


def _went(
    batch: LivestockBatch, tank: Tank, moment: datetime, seen: frozenset[int]
) -> list[tuple[Tank, datetime, int]]:
    """Where to, when and how many of the batch went from here since, but for what came back."""
    rows = LivestockMovement.objects.standing().filter(
        batch=batch,
        kind="move",
        tank_from__isnull=False,
        tank_to__isnull=False,
        done_at_corrected__gte=moment,
    )
    went: dict[tuple[int, datetime], int] = {}
    tanks: dict[int, Tank] = {}
    for row in rows.select_related("tank_from", "tank_to").order_by("done_at_corrected", "pk"):
        for here, there, sign in (
            (row.tank_from, row.tank_to, 1),
            (row.tank_to, row.tank_from, -1),
        ):
            if here == tank and there is not None and there.pk not in seen:
                tanks[there.pk] = there
                key = (there.pk, row.done_at_corrected)
                went[key] = went.get(key, 0) + sign * row.count
    return [(tanks[key], when, count) for (key, when), count in went.items()]


def _goes(
    batch: LivestockBatch,
    tank_from: Tank,
    tank_to: Tank,
    count: int,
    moment: datetime,
    by: Membership,
    at: datetime,
) -> None:
    """Written without the id of the entry: taken back, that one is settled anew."""
    said = Said(done_at=moment, done_at_corrected=moment)
    LivestockMovement.objects.create(
        **fact_columns(batch.showroom, by, at, said),
        batch=batch,
        kind="move",
        tank_from=tank_from,
        tank_to=tank_to,
        count=count,
        note=NOTE,
    )
