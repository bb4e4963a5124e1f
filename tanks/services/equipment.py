"""Light, filter, heater, pump: put on a tank, and taken off again."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from tanks.models import Equipment, Tank


@transaction.atomic
def put_on(
    *,
    tank: Tank,
    kind: str,
    name: str,
    figures: Mapping[str, float],
    by: Membership,
    at: datetime,
) -> Equipment:
    """Equipment on a tank from ``at`` on; figures carry their unit in the key (``power_w``)."""
    require(by, "plan.change", in_=tank.showroom)
    row = Equipment(
        showroom=tank.showroom, tank=tank, kind=kind, name=name, figures=dict(figures), from_at=at
    )
    row.full_clean()
    row.save()
    audit.record(by=by, at=at, deed="equipment.put_on", subject=tank, after={"kind": kind})
    return row


@transaction.atomic
def take_off(*, equipment: Equipment, by: Membership, at: datetime) -> Equipment:
    """It serves this tank no longer."""
    require(by, "plan.change", in_=equipment.showroom)
    equipment.to_at = at
    equipment.save(update_fields=["to_at"])
    audit.record(by=by, at=at, deed="equipment.taken_off", subject=equipment.tank)
    return equipment
