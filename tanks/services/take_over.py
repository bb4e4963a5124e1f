"""Building day: what the list of materials says becomes groups, stones and ground at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from tanks.models import Fixing, GroupPlace, Layout, LeafColour, MaterialPart, PlantGroup
from tanks.queries.layouts import materials_of
from tanks.queries.needs import PLANTS, Needed, needs_of
from tanks.services.layouts import add_hardscape, add_plant_group
from tanks.services.planting import DETAILS, set_ground

HOW: dict[str, tuple[str, str, int]] = {
    MaterialPart.CARPET: (GroupPlace.FOREGROUND, Fixing.TWEEZERS, 30),
    MaterialPart.MIDDLE: (GroupPlace.MIDGROUND, Fixing.PLANTED, 120),
    MaterialPart.STEMS: (GroupPlace.BACKGROUND, Fixing.PLANTED, 220),
    MaterialPart.MOSS: (GroupPlace.MOSS, Fixing.COTTON, 20),
    MaterialPart.EPIPHYTE: (GroupPlace.EPIPHYTE, Fixing.GLUE, 100),
}
"""Place, fixing and height [mm] to begin with (common practice, no source); put right by hand."""


@dataclass(frozen=True, slots=True)
class TakenOver:
    """How many of each were written."""

    groups: int
    pieces: int
    layers: int


@transaction.atomic
def take_over(*, layout: Layout, by: Membership, at: datetime) -> TakenOver:
    """Groups, hardscape and ground as the list says, with what was counted where it was.

    What stands already under the same name is left as it is, so that a second press adds nothing.

    Raises
    ------
    Refused
        when the list holds nothing that could be planted, laid or poured.
    """
    require(by, "plan.change", in_=layout.showroom)
    layout = Layout.objects.select_for_update().get(pk=layout.pk)
    if layout.to_at is not None:
        raise Refused("layout_closed", "This layout is closed.")
    rows = needs_of(layout.tank, materials_of(layout))
    if not any(row.line.part in (*HOW, "stone", "wood", "ground") for row in rows):
        raise Refused(
            "nothing_listed",
            "The list of materials holds no plants, no stone and no ground.",
            {},
            "Write it first, or write the groups by hand.",
        )
    return TakenOver(
        groups=_groups(layout, rows, by, at),
        pieces=_pieces(layout, rows, by, at),
        layers=_ground(layout, rows, by, at),
    )


@transaction.atomic
def carry_over(
    *, groups: Sequence[PlantGroup], layout: Layout, by: Membership, at: datetime
) -> list[PlantGroup]:
    """Plants of an earlier layout of this glass grow on in the new one, under new numbers.

    Their old rows stay as they were; the new ones say from which layout they come.

    Raises
    ------
    Refused
        none chosen, or one that stood in another glass.
    """
    require(by, "plan.change", in_=layout.showroom)
    layout = Layout.objects.select_for_update().get(pk=layout.pk)
    if not groups or any(row.layout.tank_id != layout.tank_id for row in groups):
        raise Refused(
            "nothing_carried",
            "Which plants go on? Nothing was chosen.",
            {"groups": "Allowed: groups of earlier layouts of this glass."},
        )
    number = max((row.number for row in layout.plant_groups.all()), default=0)
    return [
        add_plant_group(
            layout=layout,
            species=list(row.species.all()),
            number=number + n,
            by=by,
            at=at,
            **{name: getattr(row, name) for name in DETAILS}
            | {"provenance": f"{row.layout.title}, group {row.number}"[:200]},
        )
        for n, row in enumerate(groups, 1)
    ]


def _count(row: Needed) -> int:
    actual = row.line.actual_count
    return row.need.count if actual is None else actual


def _groups(layout: Layout, rows: list[Needed], by: Membership, at: datetime) -> int:
    open_groups = list(layout.plant_groups.still().prefetch_related("species"))
    stands = {one.pk for group in open_groups for one in group.species.all()}
    number = max((group.number for group in layout.plant_groups.all()), default=0)
    centre, added = 0, 0
    for row in rows:
        line = row.line
        if line.part not in PLANTS:
            continue
        share = (line.share_percent or 10) * 10
        middle = min(1_000 - share // 2, centre + share // 2)
        centre = middle + share // 2
        if line.species is None or line.species.pk in stands or not _count(row):
            continue
        number, added = number + 1, added + 1
        place, fixing, height_mm = HOW[line.part]
        add_plant_group(
            layout=layout,
            species=[line.species],
            number=number,
            place=place,
            fixing=fixing,
            height_mm=height_mm,
            centre_permille=middle,
            spread_permille=share,
            planted_count=_count(row),
            planted_as=row.need.unit if _count(row) == 1 else f"{row.need.unit}s",
            leaf_colour=LeafColour.LIGHT_GREEN,
            provenance=line.secured_words,
            by=by,
            at=at,
        )
    return added


def _pieces(layout: Layout, rows: list[Needed], by: Membership, at: datetime) -> int:
    names = {piece.name for piece in layout.hardscape.still()}
    found = [
        row
        for row in rows
        if row.line.part in (MaterialPart.STONE, MaterialPart.WOOD) and row.line.what not in names
    ]
    for n, row in enumerate(found, 1):
        is_stone = row.line.part == MaterialPart.STONE
        add_hardscape(
            layout=layout,
            kind="stone" if is_stone else "wood",
            name=row.line.what,
            centre_permille=1_000 * n // (len(found) + 1),
            mass_in_mg=_count(row) * 1_000 if is_stone else None,
            length_mm=layout.tank.length_mm // 4,
            height_mm=layout.tank.height_mm // 3,
            by=by,
            at=at,
        )
    return len(found)


def _ground(layout: Layout, rows: list[Needed], by: Membership, at: datetime) -> int:
    lines = [row.line for row in rows if row.line.part == MaterialPart.GROUND]
    if not lines or layout.substrate_layers.exists():
        return 0
    layers = [(line.what, line.front_mm or 0, line.back_mm or 0) for line in lines]
    return len(set_ground(layout=layout, layers=layers, by=by, at=at))
