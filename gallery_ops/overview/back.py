"""A tank that was out of service stands again: under which code, where, and what it needs.

Nothing was deleted when it left, and nothing is undone when it returns: the time between stays a
gap, asked about a day in it the tank is not there.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.checking import written_in_words
from gallery_ops.overview.free_place import chosen_place
from gallery_ops.overview.reasons import said
from tanks.models import Position
from tanks.queries.places import free_positions
from tanks.queries.tanks import TankNow, leads_to, tank_by_code, tank_now
from tanks.services.placements import into_service


@dataclass(frozen=True, slots=True)
class Back:
    """The tank as it was left, and the places that are free.

    stood_at : key of its last place where that is free, else None
    led_to : the tank that took in what lived there; it does not return then
    """

    now: TankNow
    free: list[Position]
    stood_at: int | None
    led_to: TankNow | None

    @property
    def may_return(self) -> bool:
        """Out of service, and nothing leads from it to another tank."""
        return self.now.tank.retired_at is not None and self.led_to is None


def back(showroom: Showroom, code: str, at: datetime) -> Back:
    """What is known of a tank that left; constant queries. Raises Unknown."""
    now = tank_by_code(showroom, code, at)
    heir = leads_to(now.tank, at)
    free = free_positions(showroom)
    last = (
        now.tank.placements.filter(voided_at=None)
        .select_related("position")
        .order_by("-from_at", "-pk")
        .first()
    )
    return Back(
        now=now,
        free=free,
        stood_at=last.position_id if last and last.position in free else None,
        led_to=tank_now(heir, at) if heir != now.tank else None,
    )


@transaction.atomic
def take_back(
    *, by: Membership, code: str, new_code: str, place: str, at: datetime, reason: str
) -> TankNow:
    """Into service again from ``at`` on, vacant. Gives the tank as it stands.

    place : key of a free place; empty for none yet
    """
    require(by, "plan.change", in_=by.showroom)
    page = back(by.showroom, code, at)
    position = chosen_place(page.free, place) if page.may_return else None
    if page.may_return and not new_code.strip():
        allowed = _("1 to 16 characters, such as T07.")
        raise Refused("no_code", _("The tank has no code."), {"code": allowed})
    words = said(reason)
    with written_in_words():
        tank = into_service(
            tank=page.now.tank, code=new_code, position=position, by=by, at=at, reason=words
        )
    return tank_now(tank, at)
