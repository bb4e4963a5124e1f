"""What a layout is made of changes: groups come, go and grow together, stones are weighed.

A group or a stone that leaves keeps its row with both dates, so that any day can be told as it was.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.checking import check_row, write_row
from tanks.models import Hardscape, Layout, PlantGroup, Species, SubstrateLayer

DETAILS = (
    "place",
    "centre_permille",
    "spread_permille",
    "height_mm",
    "planted_count",
    "planted_as",
    "fixing",
    "leaf_colour",
    "trimming",
    "if_not_trimmed",
    "left_to_spread",
    "trim_reason",
    "provenance",
)
MOST_LAYERS = 6


@transaction.atomic
def change_plant_group(
    *, group: PlantGroup, by: Membership, at: datetime, **changes: Any
) -> PlantGroup:
    """Put right what was noted of a group; what is planted anew is :func:`replace_plant_group`."""
    require(by, "plan.change", in_=group.showroom)
    strange = set(changes) - set(DETAILS)
    if strange:
        raise Refused("unknown_field", f"A plant group has no {', '.join(sorted(strange))}.")
    row: PlantGroup = PlantGroup.objects.select_for_update().get(pk=group.pk)
    _still(row)
    before = {name: getattr(row, name) for name in changes}
    if before == changes:
        return row
    for name, value in changes.items():
        setattr(row, name, value)
    check_row(row)
    row.save(update_fields=list(changes))
    audit.record(
        by=by,
        at=at,
        deed="plant_group.changed",
        subject=row,
        before={name: str(value) for name, value in before.items()},
        after={name: str(value) for name, value in changes.items()},
    )
    return row


@transaction.atomic
def end_plant_group(*, group: PlantGroup, by: Membership, at: datetime) -> PlantGroup:
    """These plants left; their row stays with both dates."""
    require(by, "plan.change", in_=group.showroom)
    row: PlantGroup = PlantGroup.objects.select_for_update().get(pk=group.pk)
    _still(row)
    row.to_at = at
    check_row(row)
    row.save(update_fields=["to_at"])
    audit.record(by=by, at=at, deed="plant_group.ended", subject=row)
    return row


@transaction.atomic
def replace_plant_group(
    *,
    group: PlantGroup,
    species: Iterable[Species],
    by: Membership,
    at: datetime,
    **fields: Any,
) -> PlantGroup:
    """Other plants under the same number from now on; what is not said stays as it was."""
    old = end_plant_group(group=group, by=by, at=at)
    kept = {name: getattr(old, name) for name in DETAILS}
    return _plant(old, species, by, at, {**kept, **fields})


@transaction.atomic
def grow_together(*, groups: Sequence[PlantGroup], by: Membership, at: datetime) -> PlantGroup:
    """These groups can no longer be told apart: from now on they are one, of all their species.

    The new group has the lowest of their numbers and the words of that one; each old group stays
    with its dates and says into which it grew.

    Raises
    ------
    Refused
        fewer than two, or of two layouts.
    """
    keys = {row.pk for row in groups}
    rows = list(PlantGroup.objects.select_for_update().filter(pk__in=keys).order_by("number", "pk"))
    if len(rows) < 2 or len({row.layout_id for row in rows}) != 1:
        raise Refused(
            "not_together",
            "Two groups or more grow together.",
            {"groups": "Allowed: two or more groups of this layout that still stand."},
            "Choose the groups that cannot be told apart any more.",
        )
    species = [one for row in rows for one in row.species.all()]
    for row in rows:
        end_plant_group(group=row, by=by, at=at)
    first = rows[0]
    left = min(row.centre_permille - row.spread_permille // 2 for row in rows)
    right = max(row.centre_permille + row.spread_permille // 2 for row in rows)
    left, right = max(0, left), min(1_000, right)
    counts = [row.planted_count for row in rows]
    can_be_added = None not in counts and len({row.planted_as for row in rows}) == 1
    new = _plant(
        first,
        species,
        by,
        at,
        {name: getattr(first, name) for name in DETAILS}
        | {
            "centre_permille": (left + right) // 2,
            "spread_permille": right - left,
            "planted_count": sum(n for n in counts if n) if can_be_added else None,
        },
    )
    PlantGroup.objects.filter(pk__in=keys).update(grown_into=new)
    audit.record(
        by=by,
        at=at,
        deed="plant_group.grown_together",
        subject=new,
        after={"numbers": [row.number for row in rows]},
    )
    return new


@transaction.atomic
def weigh_piece(
    *,
    piece: Hardscape,
    by: Membership,
    at: datetime,
    mass_in_mg: int | None = None,
    mass_out_mg: int | None = None,
) -> Hardscape:
    """What a stone or a root weighed going in; with the mass coming out it leaves [mg]."""
    require(by, "plan.change", in_=piece.showroom)
    row: Hardscape = Hardscape.objects.select_for_update().get(pk=piece.pk)
    for name, mass in (("mass_in", mass_in_mg), ("mass_out", mass_out_mg)):
        if mass is not None and not 0 < mass <= 2_000_000_000:
            raise Refused(
                "out_of_range",
                f"{row}: {mass / 1_000_000:g} kg is not allowed.",
                {name: "Allowed: more than 0, up to 2,000 kg."},
                "Weigh it again.",
            )
    if mass_in_mg is not None:
        row.mass_in_mg = mass_in_mg
    if mass_out_mg is not None:
        if row.to_at is not None:
            raise Refused("piece_is_out", f"{row} is out already.")
        row.mass_out_mg, row.to_at = mass_out_mg, at
    check_row(row)
    row.save(update_fields=["mass_in_mg", "mass_out_mg", "to_at"])
    audit.record(
        by=by,
        at=at,
        deed="hardscape.weighed",
        subject=row,
        after={"in_mg": mass_in_mg, "out_mg": mass_out_mg},
    )
    return row


@transaction.atomic
def set_ground(
    *, layout: Layout, layers: Sequence[tuple[str, int, int]], by: Membership, at: datetime
) -> list[SubstrateLayer]:
    """The whole ground from below upwards: material, depth in front and behind [mm]."""
    require(by, "plan.change", in_=layout.showroom)
    Layout.objects.select_for_update().get(pk=layout.pk)
    if len(layers) > MOST_LAYERS:
        raise Refused(
            "too_many",
            f"{len(layers)} layers are not allowed.",
            {"ground": f"Allowed: up to {MOST_LAYERS} layers."},
        )
    old = list(layout.substrate_layers.order_by("order"))
    rows = [
        SubstrateLayer(
            showroom=layout.showroom,
            layout=layout,
            order=order,
            material=material.strip(),
            front_mm=front_mm,
            back_mm=back_mm,
        )
        for order, (material, front_mm, back_mm) in enumerate(layers, 1)
    ]
    layout.substrate_layers.all().delete()
    for row in rows:
        write_row(row)
    audit.record(
        by=by,
        at=at,
        deed="substrate.set",
        subject=layout,
        before={"layers": [[one.material, one.front_mm, one.back_mm] for one in old]},
        after={"layers": [list(one) for one in layers]},
    )
    return rows


def _still(row: PlantGroup) -> None:
    if row.to_at is not None:
        raise Refused(
            "group_has_left",
            f"Group {row.number} has left.",
            {"group": "Allowed: a group that still stands."},
        )


def _plant(
    like: PlantGroup,
    species: Iterable[Species],
    by: Membership,
    at: datetime,
    fields: dict[str, Any],
) -> PlantGroup:
    new = PlantGroup(
        showroom=like.showroom, layout=like.layout, number=like.number, from_at=at, **fields
    )
    write_row(new)
    new.species.set(species)
    audit.record(by=by, at=at, deed="plant_group.added", subject=new, after={"number": new.number})
    return new
