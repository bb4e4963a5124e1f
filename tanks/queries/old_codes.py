"""What was a tank called before, and where does a code lead that nothing is called any more?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Exists, OuterRef

from gallery_ops.kernel.models import Showroom
from tanks.models import Tank, TankCode
from tanks.queries.tanks import TankNow, leads_to, tank_by_code, tank_now

RENAMED, JOINED = "renamed", "joined"


@dataclass(frozen=True, slots=True)
class OldCode:
    """A code of before: of the tank itself, or of one that went into it; ``until`` when.

    is_free : nothing else is called so by now, so that the code leads here
    """

    code: str
    until: datetime
    relation: str
    is_free: bool = True


@dataclass(frozen=True, slots=True)
class Lead:
    """Where an old code leads, how, and until when it was in use."""

    to: TankNow
    code: str
    until: datetime
    relation: str


def lead_of(showroom: Showroom, code: str, at: datetime) -> Lead | None:
    """Where this code leads; None while a tank is called so, or was and went nowhere.

    Raises
    ------
    Unknown
        when no tank of this showroom was ever called so.
    """
    found = tank_by_code(showroom, code, at)
    heir = leads_to(found.tank, at)
    to = found if heir == found.tank else tank_now(heir, at)
    if to.code.casefold() == code.strip().casefold():
        return None
    row = (
        TankCode.objects.of(showroom)
        .filter(code__iexact=code.strip(), voided_at=None, to_at__lte=at)
        .latest("to_at")
    )
    return Lead(to, row.code, row.to_at, RENAMED if heir == found.tank else JOINED)


def old_codes(
    showroom: Showroom, tank_ids: Collection[int], at: datetime
) -> dict[int, list[OldCode]]:
    """Glass key -> codes that led to it until ``at``, the last one first. 4 queries."""
    heirs = _heirs(showroom, at)
    current = dict(
        TankCode.objects.of(showroom)
        .filter(voided_at=None, tank_id__in=tank_ids)
        .at(at)
        .values_list("tank_id", "code")
    )
    closed = (
        TankCode.objects.of(showroom)
        .filter(voided_at=None, tank_id__in={*tank_ids, *heirs}, to_at__lte=at)
        .order_by("-to_at", "-pk")
        .values_list("tank_id", "code", "to_at")
    )
    ended: dict[int, dict[str, OldCode]] = defaultdict(dict)
    for tank_id, code, until in closed:
        heir, relation = _followed(tank_id, heirs)
        if heir in tank_ids and code.casefold() != current.get(heir, "").casefold():
            ended[heir].setdefault(code.casefold(), OldCode(code, until, relation))
    names = {row.code for rows in ended.values() for row in rows.values()}
    taken = set(
        TankCode.objects.of(showroom)
        .filter(voided_at=None, code__in=names)
        .at(at)
        .values_list("code", flat=True)
    )
    return {
        key: [OldCode(row.code, row.until, row.relation, row.code not in taken) for row in rows]
        for key, rows in ((key, rows.values()) for key, rows in ended.items())
    }


def _heirs(showroom: Showroom, at: datetime) -> dict[int, tuple[int, str]]:
    """Glass out of service -> the one that stands for it since, and how that came. 2 queries."""
    heirs = {
        old: (new, JOINED)
        for old, new in Tank.objects.of(showroom)
        .filter(went_into__isnull=False, retired_at__lte=at, voided_at=None)
        .values_list("pk", "went_into_id")
    }
    in_place = TankCode.objects.filter(
        tank=OuterRef("pk"), voided_at=None, from_at=OuterRef("came_from__retired_at")
    )
    newer = Tank.objects.of(showroom).filter(
        Exists(in_place), voided_at=None, came_from__retired_at__lte=at
    )
    for new, old in newer.values_list("pk", "came_from_id"):
        heirs[old] = (new, RENAMED)
    return heirs


def _followed(tank_id: int, heirs: dict[int, tuple[int, str]]) -> tuple[int, str]:
    """The glass at the end of the line, and whether a tank went into another on the way."""
    relation = RENAMED
    while tank_id in heirs:
        tank_id, how = heirs[tank_id]
        relation = JOINED if how == JOINED else relation
    return tank_id, relation
