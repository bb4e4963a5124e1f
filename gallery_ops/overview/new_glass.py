"""A tank gets new glass: what stays, what changes, and which numbers a person may want to change.

The deed spans rooms and is one transaction. No plan changes by it: what scales with the water is
proposed, and whoever looks after the tank takes it or leaves it.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.checking import written_in_words
from gallery_ops.overview.proposed_plans import BY_WATER, Proposal, proposals, water_ratio
from gallery_ops.overview.reasons import said
from inventory.models import Supply, UsePlan
from inventory.queries.livestock import heads
from inventory.queries.plans import plans_in_force
from inventory.services.new_glass import goes_on, scale_plan
from inventory.services.said import local_day
from maintenance.models import DueTask
from maintenance.services.new_glass import care_goes_on
from tanks.models import Equipment, Tank
from tanks.queries.tanks import TankNow, tank_by_code, tank_now
from tanks.science.geometry import working_volume_ul
from tanks.services.glass import replace_glass

KINDS = ("float", "low_iron")


@dataclass(frozen=True, slots=True)
class Glass:
    """Outer sizes and thickness [mm], and its kind."""

    length_mm: int
    width_mm: int
    height_mm: int
    glass_mm: int
    kind: str

    @property
    def outer_mm(self) -> tuple[int, int, int]:
        """Outer length, width and height [mm]."""
        return self.length_mm, self.width_mm, self.height_mm

    @property
    def working_l(self) -> float:
        """Water at the working level [L]."""
        return working_volume_ul(*self.outer_mm) / 1e6


@dataclass(frozen=True, slots=True)
class NewGlass:
    """The tank, what goes on in the new glass, and what is proposed."""

    now: TankNow
    plans: int
    supplies: int
    equipment: int
    animals: int
    due: int
    scaled: list[Proposal]
    wanted: Glass | None


def glass_of(tank: Tank) -> Glass:
    """The glass as it is noted."""
    return Glass(tank.length_mm, tank.width_mm, tank.height_mm, tank.glass_mm, tank.kind_of_glass)


def new_glass(showroom: Showroom, code: str, at: datetime, wanted: Glass | None) -> NewGlass:
    """What would stay and change. 15 queries or so, whatever the fleet holds. Raises Unknown."""
    now = tank_by_code(showroom, code, at)
    tank, today = now.tank, local_day(showroom, at)
    return NewGlass(
        now=now,
        plans=UsePlan.objects.filter(tank=tank, voided_at=None).exclude(to_on__lte=today).count(),
        supplies=Supply.objects.filter(tank=tank).still().count(),
        equipment=Equipment.objects.filter(tank=tank).still().count(),
        animals=sum(head.count for head in heads(showroom, at, tank_ids=[tank.pk])),
        due=DueTask.objects.of(showroom).filter(tank=tank, state="open").count(),
        scaled=_scaled(showroom, tank, wanted, at) if wanted else [],
        wanted=wanted,
    )


def check_glass(tank: Tank, wanted: Glass, reason: str) -> str:
    """The reason without spaces around it. Raises Refused for what cannot be, in words."""
    words = said(reason)
    check_sizes(tank.showroom, wanted)
    return words


def check_sizes(showroom: Showroom, wanted: Glass) -> None:
    """Raises Refused for a kind that is none, sizes that cannot be, and glass that is too thick."""
    if wanted.kind not in KINDS:
        raise Refused("kind", _("Kind of glass: choose one of the two."), {"kind": ""})
    with written_in_words():
        Tank(
            showroom=showroom,
            length_mm=wanted.length_mm,
            width_mm=wanted.width_mm,
            height_mm=wanted.height_mm,
            glass_mm=wanted.glass_mm,
            kind_of_glass=wanted.kind,
        ).full_clean()
    if 2 * wanted.glass_mm >= min(wanted.outer_mm):
        raise Refused(
            "glass_too_thick",
            _("Glass: thicker than the tank is wide. Compare sizes and units."),
            {"glass": _("2 to 50 mm.")},
        )


@transaction.atomic
def reglaze(
    *,
    by: Membership,
    code: str,
    wanted: Glass,
    at: datetime,
    reason: str,
    seen: str,
    scaled: Collection[int] = (),
) -> TankNow:
    """The tank has new glass from now on; all that is given, due and kept for it goes on.

    seen : key of the glass that the page showed; another one there by now is refused, so that a
        form sent twice replaces once.
    scaled : items whose dose or gas somebody wants in proportion to the water from today on.
    """
    require(by, "plan.change", in_=by.showroom)
    old = tank_by_code(by.showroom, code, at).tank
    if old.retired_at is not None or str(old.pk) != seen:
        raise Refused(
            "glass_replaced",
            _("%(code)s has another glass by now.") % {"code": code},
            {},
            _("Look at the tank again before you go on."),
        )
    words = check_glass(old, wanted, reason)
    with written_in_words():
        new = replace_glass(
            tank=old,
            length_mm=wanted.length_mm,
            width_mm=wanted.width_mm,
            height_mm=wanted.height_mm,
            glass_mm=wanted.glass_mm,
            kind_of_glass=wanted.kind,
            by=by,
            at=at,
            reason=words,
        )
    goes_on(old=old, new=new, by=by, at=at, reason=words)
    care_goes_on(old=old, new=new, by=by, at=at)
    today = local_day(by.showroom, at)
    ratio = water_ratio(old, wanted.outer_mm)
    for plan in plans_in_force(by.showroom, today, tank_ids=[new.pk]):
        if plan.purpose in BY_WATER and plan.item_id in scaled:
            scale_plan(plan=plan, ratio=ratio, by=by, at=at, reason=words)
    return tank_now(new, at)


def _scaled(showroom: Showroom, tank: Tank, wanted: Glass, at: datetime) -> list[Proposal]:
    """Each dose and gas that the water would change; the animals are as many, and so is food."""
    water = water_ratio(tank, wanted.outer_mm)
    rows = proposals(showroom, tank, local_day(showroom, at), water=water, animals=Fraction(1))
    return [row for row in rows if row.ratio != 1]
