"""Which glasses were one tank, one after the other, and where did what lived in one of them go?

A tank that gets new glass keeps its code: the new glass took it over in the instant in which the
old one retired. A glass that was a part of another one, and stands beside it, is a tank of its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db.models import F

from gallery_ops.kernel.models import Showroom
from tanks.models import Tank, TankCode
from tanks.queries.tanks import leads_to


def replaced(showroom: Showroom) -> dict[int, int]:
    """Old glass -> the glass that stands in its place since; one query, whatever the fleet."""
    rows = TankCode.objects.of(showroom).filter(
        voided_at=None, tank__voided_at=None, from_at=F("tank__came_from__retired_at")
    )
    return dict(rows.values_list("tank__came_from_id", "tank_id"))


def now_in(after: Mapping[int, int], tank_id: int) -> int:
    """The last glass of a chain as :func:`replaced` gives it; itself where none came after."""
    for _step in after:
        if tank_id not in after:
            break
        tank_id = after[tank_id]
    return tank_id


def same_tank(tank: Tank, after: Mapping[int, int] | None = None) -> list[int]:
    """All glasses that were or are this tank, itself among them; one query.

    after : what :func:`replaced` gave, where somebody has it
    """
    after = replaced(tank.showroom) if after is None else after
    last = now_in(after, tank.pk)
    return [tank.pk, *(key for key in {*after, last} - {tank.pk} if now_in(after, key) == last)]


def glass_then(tank: Tank, moment: datetime) -> Tank:
    """The glass where at ``moment`` that was which is meant by this one.

    Before it stood, the glass that it replaced; after it retired, its new glass or the tank that it
    was joined to. No query where none came before and it stands.
    """
    tank = leads_to(tank, moment)
    before = tank.came_from
    while before is not None and before.retired_at is not None and moment < before.retired_at:
        if not tank.codes.filter(voided_at=None, from_at=before.retired_at).exists():
            break
        tank, before = before, before.came_from
    return tank
