"""What is known of the air of each room: its volume, its alarm, what that showed last?"""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from django.db.models import OuterRef, Subquery

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from tanks.models import Room, RoomAirCheck


@dataclass(frozen=True, slots=True)
class RoomAir:
    """A room with the last figure that its alarm showed and its last test."""

    room: Room
    read: RoomAirCheck | None
    test: RoomAirCheck | None

    @property
    def has_number(self) -> bool:
        """Its volume was measured and a gas alarm hangs in it."""
        return bool(self.room.volume_m3) and self.room.has_gas_alarm is True


def rooms_air(showroom: Showroom) -> list[RoomAir]:
    """Every room, in walking order; two queries."""
    lately = RoomAirCheck.objects.standing().filter(room=OuterRef("pk"))
    lately = lately.order_by("-done_at_corrected", "-pk")
    rows = list(
        Room.objects.of(showroom)
        .filter(voided_at=None, retired_at=None)
        .annotate(
            read_pk=Subquery(lately.filter(co2_ppm__isnull=False).values("pk")[:1]),
            test_pk=Subquery(lately.filter(is_test=True).values("pk")[:1]),
        )
        .order_by("walking_order", "name")
    )
    keys = {key for row in rows for key in (row.read_pk, row.test_pk) if key}
    checks = {
        row.pk: row for row in RoomAirCheck.objects.filter(pk__in=keys).select_related("person")
    }
    return [RoomAir(row, checks.get(row.read_pk), checks.get(row.test_pk)) for row in rows]


def room_air(showroom: Showroom, uid: UUID) -> RoomAir:
    """One room by its name for programs. Raises Unknown."""
    for row in rooms_air(showroom):
        if row.room.uid == uid:
            return row
    raise Unknown("room")
