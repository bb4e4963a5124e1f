"""Which items does a showroom use?"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from gallery_ops.kernel.models import Showroom
from inventory.models import Item, LivestockMovement, Supply, Use, UsePlan
from tanks.models import Tank


def open_items(showroom: Showroom, kind: str = "") -> list[Item]:
    """Items that are neither retired nor voided, by name; of one kind where it is given."""
    rows = Item.objects.of(showroom).filter(retired_at=None, voided_at=None)
    return list((rows.filter(kind=kind) if kind else rows).order_by("name", "pk"))


def item_by_id(showroom: Showroom, key: int) -> Item | None:
    """The item of this key that is not voided, or None."""
    found: Item | None = Item.objects.of(showroom).filter(pk=key, voided_at=None).first()
    return found


def item_by_code(showroom: Showroom, code: str) -> Item | None:
    """The item of this code that is not voided, or None."""
    found: Item | None = Item.objects.of(showroom).filter(code=code, voided_at=None).first()
    return found


def plan_by_id(showroom: Showroom, key: int) -> UsePlan | None:
    """The plan version of this key that is not voided, with its item and tank, or None."""
    rows = UsePlan.objects.of(showroom).filter(pk=key, voided_at=None)
    found: UsePlan | None = rows.select_related("item", "tank", "showroom").first()
    return found


def written_since(showroom: Showroom, tanks: Iterable[Tank], since: datetime) -> dict[int, str]:
    """Tank id -> what was written on it after ``since``: something given, connected, or living."""
    ids = [tank.pk for tank in tanks]
    found: dict[int, str] = {}
    supplies = Supply.objects.of(showroom).filter(tank__in=ids, from_at__gt=since)
    found.update(dict.fromkeys(supplies.values_list("tank_id", flat=True), "a container connected"))
    uses = Use.objects.of(showroom).filter(tank__in=ids, entered_at__gt=since)
    found.update(dict.fromkeys(uses.values_list("tank_id", flat=True), "something given"))
    for side in ("tank_from_id", "tank_to_id"):
        moves = LivestockMovement.objects.of(showroom).filter(
            **{f"{side}__in": ids}, entered_at__gt=since
        )
        found.update(dict.fromkeys(moves.values_list(side, flat=True), "animals"))
    return found
