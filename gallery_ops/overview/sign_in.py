"""Which names does a tablet show, and in which order? Today's people first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.queries.people import name_tiles
from gallery_ops.kernel.values.day import business_day, day_bounds
from maintenance.models import Shift


@dataclass(frozen=True, slots=True)
class Tile:
    """One name, with the hour from which this person is here today."""

    membership: Membership
    shift: Shift | None

    @property
    def is_today(self) -> bool:
        """Does this person work today?"""
        return self.shift is not None


def tiles(showroom: Showroom, at: datetime) -> list[Tile]:
    """Everybody with a PIN; whoever works today comes first, in the order of their hours."""
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    from_at, to_at = day_bounds(today, showroom.tz, showroom.cut_off_hour)
    shifts = {
        shift.person_id: shift
        for shift in Shift.objects.of(showroom)
        .filter(voided_at=None, from_at__lt=to_at, to_at__gt=from_at)
        .select_related("zone")
        .order_by("-from_at")
    }
    found = [Tile(row, shifts.get(row.person_id)) for row in name_tiles(showroom, at)]
    late = at + timedelta(days=1)
    return sorted(
        found,
        key=lambda tile: (
            not tile.is_today,
            tile.shift.from_at if tile.shift else late,
            tile.membership.person.name,
        ),
    )
