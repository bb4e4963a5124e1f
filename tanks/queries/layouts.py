"""What stood in this glass then, and what is it made of?"""

from __future__ import annotations

from datetime import datetime

from django.db.models import Prefetch

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.codes import parse_code
from gallery_ops.kernel.values.limits import OutOfRange
from tanks.models import (
    Layout,
    LayoutVersion,
    MaterialLine,
    PlantGroup,
    PublicCode,
    Species,
    Tank,
)


def layout_at(tank: Tank, at: datetime) -> Layout | None:
    """The layout that stood in this glass at ``at``, or None when it stood empty."""
    found: Layout | None = tank.layouts.filter(voided_at=None).at(at).first()
    return found


def open_layouts_with_parts(
    showroom: Showroom, at: datetime, *, with_labels: bool = False, to_draw: bool = False
) -> list[Layout]:
    """Layouts at ``at`` with groups, species, hardscape, ground and versions; 7 queries.

    with_labels : also what each version keeps of its label, which is long
    to_draw : only what shows from the front, without species and ground; 4 queries
    """
    versions = LayoutVersion.objects.all()
    told = ("plant_groups",) if to_draw else ("plant_groups__species", "substrate_layers")
    return list(
        Layout.objects.of(showroom)
        .filter(voided_at=None)
        .at(at)
        .select_related("designer", "tank")
        .prefetch_related(
            *told,
            "hardscape",
            Prefetch(
                "versions", queryset=versions if with_labels else versions.defer("frozen_label")
            ),
        )
    )


def version_at(layout: Layout, at: datetime) -> LayoutVersion | None:
    """The version of a layout that stood at ``at``."""
    found: LayoutVersion | None = layout.versions.at(at).first()
    return found


def public_code(text: str) -> PublicCode:
    """The public code that somebody scanned or typed, whatever showroom it belongs to.

    Raises
    ------
    Unknown
        when there is no such code, or its check character does not fit.
    """
    try:
        code = parse_code(text)
    except OutOfRange:
        raise Unknown("code") from None
    row = (
        PublicCode.objects.filter(code=code)
        .select_related("showroom", "tank__showroom", "position__showroom")
        .first()
    )
    if row is None:
        raise Unknown("code")
    return row


def layouts_in(tank: Tank, at: datetime) -> list[Layout]:
    """What stood and stands in this glass, the first one first; one query."""
    rows = tank.layouts.filter(voided_at=None, from_at__lte=at)
    return list(rows.select_related("designer", "brief").order_by("from_at", "pk"))


def with_parts(layout: Layout) -> Layout:
    """The same layout with groups, species, hardscape, ground, versions and stages; 7 queries."""
    found: Layout = (
        Layout.objects.select_related("designer__person", "brief__designer", "tank")
        .prefetch_related(
            "plant_groups__species",
            "plant_groups__grown_from",
            "hardscape",
            "substrate_layers",
            "versions",
            "stage_changes__person",
        )
        .get(pk=layout.pk)
    )
    return found


def materials_of(layout: Layout) -> list[MaterialLine]:
    """What the build needs, in its order; one query."""
    rows = layout.material_lines.filter(voided_at=None).select_related("species", "layout")
    return list(rows.order_by("order"))


def plants_known() -> list[Species]:
    """Every plant that a group may be made of, by name; one query."""
    return list(Species.objects.filter(kingdom="plant").order_by("vernacular_name", "pk"))


def animals_known() -> list[Species]:
    """Every animal that may come, by name; one query."""
    return list(Species.objects.filter(kingdom="animal").order_by("vernacular_name", "pk"))


def groups_before(layout: Layout) -> list[PlantGroup]:
    """What stood to the end in the layout before this one in the same glass; 4 queries at most.

    In the first layout of a glass that was a part of another one: what stands there.
    """
    before = (
        Layout.objects.filter(
            tank=layout.tank_id, voided_at=None, to_at__isnull=False, from_at__lt=layout.from_at
        )
        .order_by("-to_at", "-pk")
        .first()
    )
    if before is not None:
        rows = before.plant_groups.filter(to_at__gte=before.to_at)
    else:
        rows = PlantGroup.objects.still().filter(
            layout__tank__became=layout.tank_id, layout__to_at=None, layout__voided_at=None
        )
    return list(rows.select_related("layout").prefetch_related("species").order_by("number", "pk"))
