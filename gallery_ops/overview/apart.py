"""A glass that leaves: out of service, joined to another tank, or parted into two.

Nothing is deleted: the layout is closed, animals go over by movements that sum to the same count,
and the old code still finds what stood there.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.checking import written_in_words
from gallery_ops.overview.free_place import chosen_place
from gallery_ops.overview.new_glass import Glass, check_sizes
from gallery_ops.overview.proposed_plans import Proposal, proposals, water_ratio
from gallery_ops.overview.reasons import said
from inventory.queries.livestock import Head, heads
from inventory.services.leaving import disconnect, move_heads
from inventory.services.new_glass import plan_for_part
from inventory.services.said import local_day
from tanks.models import Position, Tank
from tanks.queries.places import free_positions
from tanks.queries.tanks import TankNow, fleet, tank_by_code, tank_now
from tanks.services.equipment import take_off
from tanks.services.layouts import close_layout
from tanks.services.placements import add_tank, retire_tank


@dataclass(frozen=True, slots=True)
class Apart:
    """The tank as it stands, its animals by batch, and where they or a part of it may go."""

    now: TankNow
    heads: list[Head]
    others: list[TankNow]
    went_into: TankNow | None
    free: list[Position]

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
        free_positions(showroom),
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


@dataclass(frozen=True, slots=True)
class Part:
    """A part that becomes a tank of its own.

    place : key of a free place; empty for none yet
    counts : heads that go over, by batch
    """

    code: str
    glass: Glass
    place: str
    counts: Mapping[int, int]


def proposed_for(page: Apart, wanted: Part, at: datetime) -> list[Proposal]:
    """What the part would get of each plan: by its share of the water, food by that of the animals.

    Raises Refused for a glass that cannot be and for a place that is taken.
    """
    tank = page.now.tank
    check_sizes(tank.showroom, wanted.glass)
    chosen_place(page.free, wanted.place)
    moved = sum(wanted.counts.values())
    return proposals(
        tank.showroom,
        tank,
        local_day(tank.showroom, at),
        water=water_ratio(tank, wanted.glass.outer_mm),
        animals=Fraction(moved, page.animals) if page.animals else Fraction(0),
    )


@transaction.atomic
def part(
    *,
    by: Membership,
    code: str,
    wanted: Part,
    at: datetime,
    reason: str,
    plans: Collection[int] = (),
) -> TankNow:
    """A part of the tank becomes a tank of its own and takes some of the animals.

    plans : keys of the plans of which it gets its share from today on
    """
    page = _standing(by, code, at)
    words = said(reason)
    tank, glass = page.now.tank, wanted.glass
    rows = proposed_for(page, wanted, at)
    with written_in_words():
        new = add_tank(
            showroom=tank.showroom,
            code=wanted.code,
            length_mm=glass.length_mm,
            width_mm=glass.width_mm,
            height_mm=glass.height_mm,
            glass_mm=glass.glass_mm,
            kind_of_glass=glass.kind,
            position=chosen_place(page.free, wanted.place),
            purpose=tank.purpose,
            came_from=tank,
            by=by,
            at=at,
        )
    move_heads(tank_from=tank, tank_to=new, counts=wanted.counts, by=by, at=at, note=words)
    for row in rows:
        if row.plan.pk in plans:
            plan_for_part(plan=row.plan, part=new, ratio=row.ratio, by=by, at=at, reason=words)
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
