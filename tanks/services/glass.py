"""New glass at the same place: what stood in the old one goes over, and the old one stays known."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.checking import write_new
from gallery_ops.kernel.services.copying import copied
from gallery_ops.kernel.values.day import business_day
from tanks.models import Equipment, Layout, ParameterRange, StageChange, Tank


@transaction.atomic
def replace_glass(
    *,
    tank: Tank,
    length_mm: int,
    width_mm: int,
    height_mm: int,
    glass_mm: int,
    by: Membership,
    at: datetime,
    kind_of_glass: str = "float",
    reason: str = "",
) -> Tank:
    """A new glass takes the code, the place, the public code and the layout of ``tank``.

    Equipment, ranges of its own, the bill of materials and a brief that waits go over with them.

    The old glass is retired with its own periods closed, and what it held is copied, not moved:
    asked about a day before ``at``, everything answers with the old glass. Plans, feeders and
    schedules belong to the rooms above and are not carried from here.
    """
    require(by, "plan.change", in_=tank.showroom)
    tank = Tank.objects.select_for_update().get(pk=tank.pk)
    if tank.retired_at is not None or tank.voided_at is not None:
        raise Refused(
            "tank_retired",
            "This glass is out of service already.",
            remedy="Choose the glass that stands there now.",
        )
    new = Tank(
        showroom=tank.showroom,
        length_mm=length_mm,
        width_mm=width_mm,
        height_mm=height_mm,
        glass_mm=glass_mm,
        kind_of_glass=kind_of_glass,
        purpose=tank.purpose,
        acquired_on=business_day(at, tank.showroom.tz, tank.showroom.cut_off_hour),
        came_from=tank,
    )
    write_new(new)
    for rows in (tank.codes, tank.placements):
        for row in rows.filter(voided_at=None).still():
            _goes_over(row, at, tank=new)
    for row in tank.public_codes.still():
        row.tank = new
        row.save(update_fields=["tank"])
    for layout in tank.layouts.filter(voided_at=None).still():
        _layout_goes_over(layout, new, by, at)
    tank.briefs.filter(voided_at=None, layout__isnull=True).update(tank=new)
    for piece in Equipment.objects.filter(tank=tank).still().order_by("pk"):
        _goes_over(piece, at, tank=new)
    for own in ParameterRange.objects.filter(tank=tank):
        copied(own, tank=new)
    tank.retired_at = at
    tank.save(update_fields=["retired_at"])
    audit.record(
        by=by,
        at=at,
        deed="tank.glass_replaced",
        subject=new,
        before={"tank": tank.pk},
        reason=reason,
    )
    return new


def _layout_goes_over(layout: Layout, new: Tank, by: Membership, at: datetime) -> None:
    """The same work in the new glass: title, story, flooding day and version stay."""
    copy = _goes_over(layout, at, tank=new)
    for rows in (layout.versions, layout.hardscape):
        for row in rows.still():
            _goes_over(row, at, layout=copy)
    for layer in layout.substrate_layers.all():
        copied(layer, layout=copy)
    for step in layout.start_up_steps.all():
        copied(step, layout=copy)
    layout.material_lines.update(layout=copy)
    groups = {row.pk: row for row in layout.plant_groups.still().order_by("pk")}
    copies = {}
    for key, row in groups.items():
        copies[key] = _goes_over(row, at, layout=copy, grown_into=None)
        copies[key].species.set(row.species.all())
    for key, row in groups.items():
        if row.grown_into_id in copies:
            copies[key].grown_into = copies[row.grown_into_id]
            copies[key].save(update_fields=["grown_into"])
    StageChange.objects.create(
        showroom=layout.showroom,
        layout=copy,
        stage_from=layout.stage,
        stage_to=layout.stage,
        evidence=["the glass was replaced"],
        done_at=at,
        done_at_corrected=at,
        entered_at=at,
        person=by.person,
    )


def _goes_over(row: Any, at: datetime, **changes: Any) -> Any:
    """End this period at ``at`` and begin the same in the new place."""
    row.to_at = at
    row.save(update_fields=["to_at"])
    return copied(row, from_at=at, to_at=None, **changes)
