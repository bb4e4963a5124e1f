"""Which cylinder stands in which room, and which tanks does it feed? Without what is in it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import CylinderDetail, Supply
from tanks.models import Placement


@dataclass(frozen=True, slots=True)
class Standing:
    """A cylinder that is here. ``room_id`` : with its tanks, else as noted; None nobody said."""

    fill: Mass
    room_id: int | None
    tank_ids: tuple[int, ...]


def standing_cylinders(showroom: Showroom, at: datetime) -> list[Standing]:
    """Every cylinder that is neither finished nor away; three queries."""
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    fed: dict[int, list[int]] = defaultdict(list)
    supplied = (
        Supply.objects.of(showroom).at(at).filter(purpose="gas", tank__isnull=False).order_by("pk")
    )
    for container_id, tank_id in supplied.values_list("container_id", "tank_id"):
        fed[container_id].append(tank_id)
    placed = Placement.objects.of(showroom).filter(voided_at=None).at(at).order_by("pk")
    room_of = dict(placed.values_list("tank_id", "position__room_id"))
    here = Q(container__finished_on=None) | Q(container__finished_on__gt=today)
    rows = CylinderDetail.objects.filter(
        here, container__showroom=showroom, container__voided_at=None, away_on=None
    ).order_by("pk")
    out = []
    for container_id, room_id, fill_mg in rows.values_list(
        "container_id", "container__room_id", "fill_mg"
    ):
        tanks = tuple(fed.get(container_id, ()))
        rooms = [room_of[tank] for tank in tanks if tank in room_of]
        out.append(Standing(Mass(fill_mg), rooms[0] if rooms else room_id, tanks))
    return out
