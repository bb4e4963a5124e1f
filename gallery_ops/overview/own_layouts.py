"""What a guest designer may read: the layouts credited to them, as they stand and as they stood."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from gallery_ops.drawing import TankShape
from gallery_ops.kernel.models import Membership
from gallery_ops.overview.drawings import shapes
from tanks.models import Layout
from tanks.queries.tanks import TankNow, fleet


@dataclass(frozen=True, slots=True)
class OwnLayout:
    """One of their layouts; the drawing only while it stands."""

    layout: Layout
    now: TankNow | None
    shape: TankShape | None


def own_layouts(by: Membership, at: datetime) -> list[OwnLayout]:
    """Standing ones first, then the latest; a constant number of queries."""
    showroom = by.showroom
    rows = list(
        Layout.objects.of(showroom)
        .filter(designer__person=by.person, voided_at=None)
        .select_related("designer", "tank")
        .prefetch_related("plant_groups__species")
        .order_by("-from_at")
    )
    standing = {row.layout.pk: row for row in fleet(showroom, at) if row.layout is not None}
    mine = [standing[row.pk] for row in rows if row.pk in standing]
    looks = shapes(showroom, at, mine) if mine else {}
    found = []
    for row in rows:
        now = standing.get(row.pk)
        found.append(OwnLayout(row, now, looks[now.code] if now else None))
    return sorted(found, key=lambda one: one.now is None)
