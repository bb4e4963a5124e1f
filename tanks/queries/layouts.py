"""What stood in this glass then, and what is it made of?"""

from __future__ import annotations

from datetime import datetime

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.codes import parse_code
from gallery_ops.kernel.values.limits import OutOfRange
from tanks.models import Layout, LayoutVersion, PublicCode, Tank


def layout_at(tank: Tank, at: datetime) -> Layout | None:
    """The layout that stood in this glass at ``at``, or None when it stood empty."""
    found: Layout | None = tank.layouts.filter(voided_at=None).at(at).first()
    return found


def open_layouts_with_parts(showroom: Showroom, at: datetime) -> list[Layout]:
    """Layouts at ``at`` with groups, species, hardscape, ground and versions; 7 queries."""
    return list(
        Layout.objects.of(showroom)
        .filter(voided_at=None)
        .at(at)
        .select_related("designer", "tank")
        .prefetch_related("plant_groups__species", "hardscape", "substrate_layers", "versions")
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
