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
from gallery_ops.overview.reasons import said
from tanks.models import Position
from tanks.queries import places
from tanks.queries.tanks import TankNow, fleet, leads_to, tank_by_code, tank_now
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
    taken = {row.position.pk for row in fleet(showroom, at) if row.position is not None}
    free = [place for place in places.positions(showroom) if place.pk not in taken]
    last = now.tank.placements.filter(voided_at=None).order_by("-from_at", "-pk").first()
    return Back(
        now=now,
        free=free,
        stood_at=last.position_id if last and last.position_id not in taken else None,
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
    position = next((one for one in page.free if str(one.pk) == place), None)
    if page.may_return and place and position is None:
        allowed = _("Choose one of the places that are free.")
        raise Refused("no_place", _("This place is not free."), {"place": allowed})
    if page.may_return and not new_code.strip():
        allowed = _("1 to 16 characters, such as T07.")
        raise Refused("no_code", _("The tank has no code."), {"code": allowed})
    words = said(reason)
    with written_in_words():
        tank = into_service(
            tank=page.now.tank, code=new_code, position=position, by=by, at=at, reason=words
        )
    return tank_now(tank, at)
