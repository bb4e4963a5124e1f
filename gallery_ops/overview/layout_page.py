"""One layout for staff and its designer: what it is made of, its versions, what was approved."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from django.utils.translation import gettext_lazy as _

from gallery_ops.drawing import TankShape
from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.values.quantity import Mass
from gallery_ops.overview.drawings import shape_of
from gallery_ops.overview.spec_page import Layer
from tanks.models import Brief, Hardscape, Layout, LayoutVersion, PlantGroup
from tanks.queries.label_text import changed_since, last_approved
from tanks.queries.layouts import layouts_in, with_parts
from tanks.queries.needs import glass_of
from tanks.queries.tanks import TankNow, tank_by_code
from tanks.queries.visitors import next_brief
from tanks.science.filling import bed_l

CHANGED = {
    "title": _("the title"),
    "story": _("the story"),
    "inspiration": _("what inspired it"),
    "inspired_by": _("what inspired it"),
    "reference": _("what inspired it"),
    "made_different": _("what was made different"),
    "went_wrong": _("what went wrong"),
    "difficulty": _("how hard it is"),
    "has_co2": _("whether CO2 is given"),
    "profile": _("its profile"),
    "designer": _("the designer"),
    "flooded_on": _("the day of flooding"),
    "groups": _("the plant groups"),
    "hardscape": _("stone and wood"),
    "ground": _("the ground"),
}


@dataclass(frozen=True, slots=True)
class Ground(Layer):
    """One layer with its volume [L]."""

    litres: float


@dataclass(frozen=True, slots=True)
class LayoutPage:
    """What stands, or stood, in a glass; ``layout`` is None in an empty one."""

    now: TankNow
    layouts: list[Layout]
    ordinal: int
    layout: Layout | None
    brief: Brief | None
    shape: TankShape | None
    groups: list[PlantGroup]
    left: list[PlantGroup]
    pieces: list[Hardscape]
    ground: list[Ground]
    versions: list[LayoutVersion]
    approved: LayoutVersion | None
    changed: list[str]

    @property
    def version(self) -> LayoutVersion | None:
        """The newest version."""
        return self.versions[-1] if self.versions else None

    @property
    def stands(self) -> bool:
        """Is it in the glass now?"""
        return self.layout is not None and self.layout.to_at is None

    @property
    def stones(self) -> list[tuple[Hardscape, Mass | None, Mass | None]]:
        """Stone and wood with the mass going in and coming out, where it was weighed."""
        return [(row, _mass(row.mass_in_mg), _mass(row.mass_out_mg)) for row in self.pieces]

    @property
    def mass_in(self) -> Mass:
        """Stone and wood going in, as far as it was weighed."""
        return Mass(sum(row.mass_in_mg or 0 for row in self.pieces))

    @property
    def mass_out(self) -> Mass:
        """What was weighed coming out."""
        return Mass(sum(row.mass_out_mg or 0 for row in self.pieces))


def _mass(mg: int | None) -> Mass | None:
    return None if mg is None else Mass(mg)


def layout_page(showroom: Showroom, code: str, number: str, at: datetime) -> LayoutPage:
    """The layout of this tank with that number, counted from the first; empty: the last one.

    Raises
    ------
    Unknown
        when there is no such tank, or no layout of that number in it.
    """
    now = tank_by_code(showroom, code, at)
    rows = layouts_in(now.tank, at)
    brief = next_brief(now.tank, at)
    if number:
        if not (number.isascii() and number.isdigit() and 0 < int(number[:4]) <= len(rows)):
            raise Unknown("layout")
        return _of(now, rows, int(number), brief, at)
    if now.layout is None:
        return LayoutPage(now, rows, 0, None, brief, None, [], [], [], [], [], None, [])
    return _of(now, rows, len(rows), brief, at)


def own_layout_page(by: Membership, code: str, number: str, at: datetime) -> LayoutPage:
    """The same for a guest designer; what is not credited to them is unknown to them."""
    page = layout_page(by.showroom, code, number, at)
    designer = page.layout.designer if page.layout else None
    if designer is None or designer.person_id != by.person_id:
        raise Unknown("layout")
    return page


def _of(
    now: TankNow, rows: list[Layout], ordinal: int, brief: Brief | None, at: datetime
) -> LayoutPage:
    layout = with_parts(rows[ordinal - 1])
    then = min(at, layout.to_at) if layout.to_at else at
    groups = sorted(layout.plant_groups.all(), key=lambda row: (row.number, row.from_at, row.pk))
    stands = layout.to_at is None
    return LayoutPage(
        now=now,
        layouts=rows,
        ordinal=ordinal,
        layout=layout,
        brief=brief,
        shape=_numbered(
            shape_of(now, layout, then, has_animals=False),
            [row for row in groups if row.from_at <= then and (not row.to_at or then < row.to_at)],
        ),
        groups=[row for row in groups if _held(row, layout)],
        left=[row for row in groups if not _held(row, layout)],
        pieces=sorted(layout.hardscape.all(), key=lambda row: row.pk),
        ground=[
            Ground(
                row.material,
                row.front_mm,
                row.back_mm,
                bed_l(glass_of(now.tank), row.front_mm, row.back_mm),
            )
            for row in sorted(layout.substrate_layers.all(), key=lambda row: row.order)
        ],
        versions=sorted(layout.versions.all(), key=lambda row: (row.from_at, row.pk)),
        approved=last_approved(layout, at),
        changed=list(dict.fromkeys(str(CHANGED[n]) for n in changed_since(layout, at)))
        if stands
        else [],
    )


def _numbered(shape: TankShape, groups: list[PlantGroup]) -> TankShape:
    """The groups of the drawing called by their own numbers, which may have gaps."""
    plants = zip(shape.plants, groups, strict=True)
    return replace(shape, plants=tuple(replace(one, number=row.number) for one, row in plants))


def _held(row: PlantGroup, layout: Layout) -> bool:
    """Did it stand until the end?"""
    return row.to_at is None or (layout.to_at is not None and row.to_at >= layout.to_at)
