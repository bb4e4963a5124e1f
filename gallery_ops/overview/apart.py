"""A glass that leaves: out of service, joined to another tank, or parted into two.

Nothing is deleted: the layout is closed, animals go over by movements that sum to the same count,
and the old code still finds what stood there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.checking import written_in_words
from gallery_ops.overview.reasons import said
from inventory.queries.livestock import Head, heads
from inventory.services.leaving import disconnect, move_heads
from tanks.models import Tank
from tanks.queries.tanks import TankNow, fleet, tank_by_code, tank_now
from tanks.services.equipment import take_off
from tanks.services.layouts import close_layout
from tanks.services.placements import add_tank, retire_tank


@dataclass(frozen=True, slots=True)
class Apart:
    """The tank as it stands, its animals by batch, and where they may go."""

    now: TankNow
    heads: list[Head]
    others: list[TankNow]
    went_into: TankNow | None

    @property
    def animals(self) -> int:
        """Heads of all batches."""
        return sum(head.count for head in self.heads)


def apart(showroom: Showroom, code: str, at: datetime) -> Apart:
    """What would happen if this tank went. Raises Unknown."""
    now = tank_by_code(showroom, code, at)
    into = now.tank.went_into
    return Apart(
        now,
        heads(showroom, at, tank_ids=[now.tank.pk]),
        [one for one in fleet(showroom, at) if one.tank.pk != now.tank.pk],
        tank_now(into, at) if into is not None else None,
    )


@transaction.atomic
def take_out(*, by: Membership, code: str, at: datetime, reason: str) -> TankNow:
    """Out of service: its layout is closed, its plans end. Refused while animals live in it."""
    page = _standing(by, code, at)
    if page.animals:
        raise Refused(
            "animals_left",
            _("%(n)s animals are still counted in %(code)s.")
            % {"n": page.animals, "code": page.now.code},
            {},
            _("Join it to the tank that takes them, or write down where they went."),
        )
    _end(page.now, by, at, said(reason), None)
    return page.now


@transaction.atomic
def join(*, by: Membership, code: str, into: str, at: datetime, reason: str) -> TankNow:
    """All animals of the tank go into another one; the tank goes out of service.

    Gives the tank that took them in.
    """
    page = _standing(by, code, at)
    goes = next((one for one in page.others if one.code == into), None)
    if goes is None or goes.tank.retired_at is not None:
        raise Refused(
            "no_other_tank",
            _("Into which tank? “%(code)s” stands nowhere.") % {"code": into[:16]},
            {"into": _("Choose one of the tanks that stand.")},
        )
    words = said(reason)
    counts = {head.batch_id: head.count for head in page.heads}
    move_heads(tank_from=page.now.tank, tank_to=goes.tank, counts=counts, by=by, at=at, note=words)
    _end(page.now, by, at, words, goes.tank)
    return goes


@transaction.atomic
def part(
    *,
    by: Membership,
    code: str,
    new_code: str,
    sizes_mm: tuple[int, int, int, int],
    counts: Mapping[int, int],
    at: datetime,
    reason: str,
) -> TankNow:
    """A part of the tank becomes a tank of its own and takes some of the animals.

    sizes_mm : outer length, width and height, and the glass [mm].
    counts : heads that go over, by batch.
    """
    page = _standing(by, code, at)
    words = said(reason)
    length, width, height, glass = sizes_mm
    with written_in_words():
        new = add_tank(
            showroom=page.now.tank.showroom,
            code=new_code,
            length_mm=length,
            width_mm=width,
            height_mm=height,
            glass_mm=glass,
            came_from=page.now.tank,
            by=by,
            at=at,
        )
    move_heads(tank_from=page.now.tank, tank_to=new, counts=counts, by=by, at=at, note=words)
    return tank_now(new, at)


def _standing(by: Membership, code: str, at: datetime) -> Apart:
    require(by, "plan.change", in_=by.showroom)
    page = apart(by.showroom, code, at)
    if page.now.tank.retired_at is not None:
        raise Refused(
            "tank_retired",
            _("%(code)s is out of service already.") % {"code": page.now.code},
            {},
            _("Choose a tank that stands."),
        )
    return page


def _end(now: TankNow, by: Membership, at: datetime, reason: str, into: Tank | None) -> None:
    if now.layout is not None:
        close_layout(layout=now.layout, by=by, at=at, lessons=reason)
    disconnect(tank=now.tank, by=by, at=at, reason=reason)
    for piece in now.tank.equipment.still():
        take_off(equipment=piece, by=by, at=at)
    retire_tank(tank=now.tank, by=by, at=at, reason=reason, went_into=into)
