"""May animals come into this tank, and where do those go that leave it?

Three things are asked before :mod:`inventory.services.livestock` counts: the first animals come
through gate G6, a tank without a layout only holds them by somebody's word, and after a group has
come the tank is left to settle. Nothing here counts by itself.
"""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from inventory.models import LivestockBatch, LivestockMovement, Supplier
from inventory.queries.livestock import heads, last_arrival
from inventory.services import livestock
from inventory.services.said import local_day
from tanks.models import Layout, Species, Stage, Tank
from tanks.queries.gates import own_limits
from tanks.science.gate_list import LIMITS

NOT_YET = frozenset({Stage.BRIEFED, Stage.HARDSCAPE, Stage.PLANTING, Stage.START_UP})
"""Before gate G6."""
SETTLE = "days_between_groups"


@transaction.atomic
def bring_in(
    *,
    tank: Tank,
    species: Species,
    count: int,
    by: Membership,
    at: datetime,
    seen: int,
    supplier: Supplier | None = None,
    origin: str = "captive",
    note: str = "",
    really: bool = False,
    reason: str = "",
) -> LivestockMovement:
    """Animals of one species came from outside.

    seen : heads in this tank as whoever says it saw them, so that nothing is counted twice.
    really : it is so although the group before came a few days ago.
    reason : why a tank without a layout holds them.

    Raises
    ------
    Refused
        before gate G6, while the tank settles, in a tank without a layout and without a reason,
        or when somebody wrote since the page was looked at.
    """
    require(by, "record", in_=tank.showroom)
    _as_seen(tank, seen)
    _may_come(tank, by, at, reason, really=really)
    return livestock.arrive(
        tank=tank,
        species=species,
        count=count,
        by=by,
        at=at,
        supplier=supplier,
        origin=origin,
        note=note or reason,
    )


@transaction.atomic
def take_across(
    *,
    batch: LivestockBatch,
    tank_from: Tank,
    tank_to: Tank,
    count: int,
    by: Membership,
    at: datetime,
    seen: int,
    note: str = "",
    really: bool = False,
    reason: str = "",
) -> LivestockMovement:
    """Some of a batch go into another tank of the house; asked and refused as :func:`bring_in`.

    seen : heads in the tank that they leave.
    """
    require(by, "record", in_=batch.showroom)
    _as_seen(tank_from, seen)
    if tank_to.pk != tank_from.pk:
        _may_come(tank_to, by, at, reason, really=really)
    return livestock.move(
        batch=batch,
        tank_from=tank_from,
        tank_to=tank_to,
        count=count,
        by=by,
        at=at,
        note=note or reason,
    )


@transaction.atomic
def let_go(
    *,
    batch: LivestockBatch,
    tank: Tank,
    count: int,
    kind: str,
    by: Membership,
    at: datetime,
    seen: int,
    note: str = "",
) -> LivestockMovement:
    """Some were sold, given away, culled, died or are missing; ``seen`` as :func:`bring_in`."""
    require(by, "record", in_=batch.showroom)
    _as_seen(tank, seen)
    return livestock.leave(batch=batch, tank=tank, count=count, kind=kind, by=by, at=at, note=note)


@transaction.atomic
def count_again(
    *,
    batch: LivestockBatch,
    tank: Tank,
    counted: int,
    by: Membership,
    at: datetime,
    seen: int,
    note: str = "",
) -> LivestockMovement:
    """Somebody counted; ``seen`` as :func:`bring_in`."""
    require(by, "record", in_=batch.showroom)
    _as_seen(tank, seen)
    return livestock.recount(batch=batch, tank=tank, counted=counted, by=by, at=at, note=note)


def settles_for(tank: Tank, layout: Layout | None, at: datetime) -> int:
    """Days for which no further group should come; 0 where none came lately."""
    if layout is None:
        return 0
    came = last_arrival(tank, layout.from_at)
    if came is None:
        return 0
    days = own_limits(tank.showroom).get(SETTLE, LIMITS[SETTLE].number)
    since = local_day(tank.showroom, at) - local_day(tank.showroom, came)
    # Several bags of one delivery are one group.
    return 0 if since.days == 0 else max(0, round(days) - int(since.days))


def _as_seen(tank: Tank, seen: int) -> None:
    Tank.objects.select_for_update().get(pk=tank.pk)
    now = sum(head.count for head in heads(tank.showroom, tank_ids=[tank.pk]))
    if now != seen:
        raise Refused(
            "seen_before",
            _("Meanwhile somebody else wrote: %(now)s animals are counted here, not %(seen)s.")
            % {"now": now, "seen": seen},
            {},
            _("Look at the count anew; if yours is still to come, send it once more."),
        )


def _may_come(tank: Tank, by: Membership, at: datetime, reason: str, *, really: bool) -> None:
    if tank.retired_at is not None:
        raise Refused(
            "tank_retired", _("This tank is out of service."), {}, _("Choose a tank that stands.")
        )
    layout = tank.layouts.filter(voided_at=None).still().first()
    if layout is None:
        _holds_without_layout(tank, by, at, reason)
    elif layout.stage in NOT_YET:
        raise Refused(
            "before_gate",
            _("The first animals come through gate G6, and this tank is in %(stage)s.")
            % {"stage": layout.get_stage_display()},
            {},
            _("Show what the gate asks for, or let a proof pass there with a reason."),
        )
    elif layout.stage == Stage.TEARDOWN:
        raise Refused(
            "taken_down", _("This layout is being taken down."), {}, _("Choose another tank.")
        )
    elif not really and (days := settles_for(tank, layout, at)):
        raise Refused(
            "settles",
            ngettext(
                "The group before came a few days ago: leave it alone for %(n)s day more.",
                "The group before came a few days ago: leave it alone for %(n)s days more.",
                days,
            )
            % {"n": days},
            {"really": _("If it must be now, say so below.")},
        )


def _holds_without_layout(tank: Tank, by: Membership, at: datetime, reason: str) -> None:
    words = reason.strip()
    if len(words) < 3:
        raise Refused(
            "no_layout",
            _("No layout stands in this tank. It may only hold animals for a while."),
            {"reason": _("Why, and for how long: 3 to 200 characters.")},
            _("Write why, or choose another tank. Only who may change a plan decides this."),
        )
    require(by, "plan.change", in_=tank.showroom)
    audit.record(
        by=by, at=at, deed="animals.held", subject=tank, after={"in": "no layout"}, reason=words
    )


__all__ = [
    "NOT_YET",
    "bring_in",
    "count_again",
    "let_go",
    "settles_for",
    "take_across",
]
