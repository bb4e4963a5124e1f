"""What stood where at a moment, called what, planted how? For one tank and for all.

Glass, code, place, layout, version, stage, plant groups and hardscape have periods of their own;
here they are laid over each other. The number of queries does not grow with the fleet.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Exists, F, OuterRef, Q

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from tanks.models import (
    Hardscape,
    Layout,
    LayoutVersion,
    Placement,
    PlantGroup,
    Position,
    StageChange,
    Tank,
    TankCode,
)


@dataclass(frozen=True, slots=True)
class AsOf:
    """One glass at a moment, with what stood in it; ``stage`` is ``vacant`` without a layout."""

    tank: Tank
    code: str
    position: Position | None
    layout: Layout | None
    version: LayoutVersion | None
    stage: str
    groups: tuple[PlantGroup, ...]
    hardscape: tuple[Hardscape, ...]


def fleet_as_of(
    showroom: Showroom, at: datetime, tank_ids: Collection[int] | None = None
) -> list[AsOf]:
    """Every glass that had a code at ``at`` (or those of these keys), by code. 8 queries at most.

    A glass that was retired later is among them, one that came later is not.
    """
    mine = Q(voided_at=None) if tank_ids is None else Q(voided_at=None, tank_id__in=tank_ids)
    codes = (
        TankCode.objects.of(showroom).filter(mine, tank__voided_at=None).at(at).order_by("code")
    ).select_related("tank")
    places = {
        row.tank_id: row.position
        for row in Placement.objects.of(showroom)
        .filter(mine)
        .at(at)
        .select_related("position__room", "position__zone")
    }
    layouts = {
        row.tank_id: row
        for row in Layout.objects.of(showroom).filter(mine).at(at).select_related("designer")
    }
    stood = _stood(at, tank_ids)
    versions = {
        row.layout_id: row
        for row in LayoutVersion.objects.of(showroom).filter(stood).at(at).defer("frozen_label")
    }
    stages: dict[int, str] = dict(
        StageChange.objects.of(showroom)
        .standing()
        .filter(stood, done_at_corrected__lte=at)
        .order_by("done_at_corrected", "pk")
        .values_list("layout_id", "stage_to")
    )
    groups = _by_layout(
        PlantGroup.objects.of(showroom)
        .filter(stood)
        .at(at)
        .order_by("number")
        .prefetch_related("species")
    )
    hardscape = _by_layout(Hardscape.objects.of(showroom).filter(stood).at(at).order_by("pk"))
    found = []
    for row in codes:
        layout = layouts.get(row.tank_id)
        key = layout.pk if layout else 0
        found.append(
            AsOf(
                tank=row.tank,
                code=row.code,
                position=places.get(row.tank_id),
                layout=layout,
                version=versions.get(key),
                stage=stages.get(key, "briefed") if layout else "vacant",
                groups=tuple(groups.get(key, ())),
                hardscape=tuple(hardscape.get(key, ())),
            )
        )
    return found


def tank_as_of(showroom: Showroom, code: str, at: datetime) -> AsOf | None:
    """What was called ``code`` at ``at``; else what is called so now, as it was then. 10 queries.

    Older and newer glass of the same tank stand for each other. None when nothing stood there yet,
    or no longer.

    Raises
    ------
    Unknown
        when no tank of this showroom was ever called so.
    """
    rows = TankCode.objects.of(showroom).filter(code__iexact=code.strip(), voided_at=None)
    called = list(
        rows.order_by(F("to_at").desc(nulls_first=True), "-from_at").values_list(
            "tank_id", "from_at", "to_at"
        )
    )
    if not called:
        raise Unknown("tank")
    then = [key for key, since, until in called if since <= at and (until is None or at < until)]
    wanted = _same_tank(showroom, then[0] if then else called[0][0])
    found = {row.tank.pk: row for row in fleet_as_of(showroom, at, wanted)}
    return next((found[key] for key in wanted if key in found), None)


def _stood(at: datetime, tank_ids: Collection[int] | None) -> Q:
    """Parts of a layout that stood at ``at``."""
    open_then = Q(layout__to_at=None) | Q(layout__to_at__gt=at)
    stood = open_then & Q(layout__voided_at=None, layout__from_at__lte=at)
    return stood if tank_ids is None else stood & Q(layout__tank_id__in=tank_ids)


def _by_layout(rows: Iterable[Any]) -> dict[int, list[Any]]:
    found: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        found[row.layout_id].append(row)
    return found


def _same_tank(showroom: Showroom, tank_id: int) -> list[int]:
    """Every glass that this tank ever had, newest first. One query."""
    took_over = TankCode.objects.filter(
        tank=OuterRef("pk"), voided_at=None, from_at=OuterRef("came_from__retired_at")
    )  # a glass that was a part of another one took over no code
    before: dict[int, int] = dict(
        Tank.objects.of(showroom)
        .filter(Exists(took_over), voided_at=None)
        .values_list("pk", "came_from_id")
    )
    after = {old: new for new, old in before.items()}
    newest = tank_id
    while (newer := after.get(newest)) is not None:
        newest = newer
    line = [newest]
    while (older := before.get(line[-1])) is not None and older not in line:
        line.append(older)
    return line
