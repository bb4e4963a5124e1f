"""In what does a thing come, and how is a pack of it said? "2 cans of 5 L", "3 boxes of 30"."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Max

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.quantity import quantity
from inventory.models import Container, ContainerKind, Item, ItemKind

CAN_FROM_UL = 2_000_000
"""A liquid of this pack or more comes in a can (common practice, no source)."""

WORDS = {
    "bottle": ("bottle", "bottles"),
    "can": ("can", "cans"),
    "tub": ("tub", "tubs"),
    "bag": ("bag", "bags"),
    "box": ("box", "boxes"),
    "cylinder": ("cylinder", "cylinders"),
}

PackKey = tuple[int, int]
"""Item id, base units in a pack."""


@dataclass(frozen=True, slots=True)
class Vessel:
    """What a pack comes in. What was written on the last one of its size holds for the next."""

    kind: str
    tare_mg: int | None = None
    unusable_base: int = 0
    press_nominal_ul: int | None = None


def usual_kind(item: Item, pack_base: int) -> str:
    """What such a pack comes in, when none of its size was here yet."""
    if item.kind == ItemKind.GAS:
        return ContainerKind.CYLINDER
    if item.dimension == "volume":
        return ContainerKind.CAN if pack_base >= CAN_FROM_UL else ContainerKind.BOTTLE
    if item.dimension == "mass":
        return ContainerKind.TUB if item.kind == ItemKind.FOOD else ContainerKind.BAG
    return ContainerKind.BOX


def vessels(showroom: Showroom, packs: Iterable[tuple[Item, int]]) -> dict[PackKey, Vessel]:
    """What each of these packs comes in: as the last one of its size, else as is usual; 2 queries
    at most.
    """
    wanted = {(item.pk, base): item for item, base in packs}
    if not wanted:
        return {}
    rows = Container.objects.of(showroom).filter(
        voided_at=None,
        item_id__in={item_id for item_id, _ in wanted},
        capacity_base__in={base for _, base in wanted},
    )
    newest = rows.values("item_id", "capacity_base").annotate(newest=Max("pk"))
    last = {
        (row.item_id, row.capacity_base): row
        for row in Container.objects.filter(pk__in=[row["newest"] for row in newest])
    }
    return {
        key: _like(last[key]) if key in last else Vessel(usual_kind(item, key[1]))
        for key, item in wanted.items()
    }


def pack_words(
    item: Item, pack_base: int, packs: int, kind: str = "", mark: str = ".", *, bare: bool = False
) -> str:
    """So many packs of an item in words; loose pieces are counted themselves.

    Parameters
    ----------
    kind : what it comes in; the usual one when left out
    bare : without the number, as a letter lists it: "can 5 L"
    """
    if item.dimension == "piece" and pack_base == 1:
        noun = "piece" if packs == 1 else "pieces"
        return noun if bare else f"{packs:,} {noun}"
    one, many = WORDS[kind or usual_kind(item, pack_base)]
    if item.dimension == "piece":
        size = f"{pack_base}"
        return f"{one} of {size}" if bare else f"{packs:,} {one if packs == 1 else many} of {size}"
    size = quantity(item.dimension, pack_base).text(mark)
    return f"{one} {size}" if bare else f"{packs:,} {one if packs == 1 else many} of {size}"


def _like(row: Container) -> Vessel:
    is_gas = row.kind == ContainerKind.CYLINDER
    return Vessel(
        kind=row.kind,
        tare_mg=None if is_gas else row.tare_mg,
        unusable_base=row.unusable_base,
        press_nominal_ul=row.press_nominal_ul,
    )
