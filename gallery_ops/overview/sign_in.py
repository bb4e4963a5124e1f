"""Which names does a tablet show, today's people first; and somebody enters."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.contrib.auth import login
from django.http import HttpRequest

from gallery_ops.kernel.models import Device, Membership, Showroom
from gallery_ops.kernel.queries.people import name_tiles
from gallery_ops.kernel.values.day import business_day, day_bounds
from gallery_ops.overview.who import DEVICE_KEY, SHOWROOM_KEY, SIGNED_KEY, TOUCHED_KEY
from maintenance.models import Shift

BACKEND = "django.contrib.auth.backends.ModelBackend"


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


def enter_on_tablet(
    request: HttpRequest, membership: Membership, device: Device, at: datetime
) -> str:
    """The session of whoever gave the right PIN on this tablet; gives the name of this sign-in."""
    login(request, membership.person, backend=BACKEND)
    request.session[SHOWROOM_KEY] = membership.showroom_id
    request.session[DEVICE_KEY] = device.pk
    request.session[TOUCHED_KEY] = at.timestamp()
    request.session[SIGNED_KEY] = at.isoformat()
    return at.isoformat()
