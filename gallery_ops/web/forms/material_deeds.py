"""Each button of the page on which the materials of a build are listed and kept."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.overview.materials_page import (
    MaterialsPage,
    counted,
    drop_line,
    free_line,
    reserve_line,
)
from gallery_ops.web import words
from gallery_ops.web.forms import layout_read as read
from gallery_ops.web.forms.boxes import Box
from gallery_ops.web.forms.layout_fields import choices
from gallery_ops.web.forms.orders import cents_or_none
from tanks.models import MaterialPart, Secured, Species
from tanks.services import materials

Typed = read.Typed
OF_KG = {MaterialPart.STONE}


def material_boxes(page: MaterialsPage, plants: Sequence[Species]) -> list[Box]:
    """One more line."""
    names = [(one.scientific_name, one.vernacular_name) for one in plants]
    items = [(code, item.name) for code, item in page.items.items()]
    return [
        Box("part", _("What kind"), "", "select", choices(MaterialPart.choices)),
        Box("what", _("Called"), _("such as hairgrass, rich soil, root W-31"), longest=80),
        Box("species", _("Plant"), _("becomes a group on building day"), "list", names),
        Box("item", _("Item of the store"), "", "select", [("", _("none")), *items]),
        Box("share", _("Share of the ground, %"), _("plants: 1 to 100"), longest=4),
        Box(
            "rate",
            _("One of them does"),
            _("cm² a cup, pot or stem; pieces a pot or tube; empty: as usual"),
            longest=8,
        ),
        Box("bag", _("Litres a bag"), _("ground only"), longest=8),
        Box("front", _("Deep in front, cm"), _("ground only"), longest=8),
        Box("back", _("Deep behind, cm"), _("ground only"), longest=8),
        Box(
            "count",
            _("Or so many"),
            _("instead of the sum; kg for stone, hours for work"),
            longest=8,
        ),
        Box("price", _("Price of one"), _("a kilogram of stone, an hour of work"), longest=12),
        Box("secured", _("Where from"), "", "select", choices(Secured.choices)),
        Box("secured_words", _("Which"), _("such as our rack, T03"), longest=120),
        Box("secured_on", _("Expected on"), "", "date"),
        Box("substitute_for", _("Instead of"), _("what the designer asked for"), longest=80),
    ]


def do(
    name: str,
    typed: Typed,
    page: MaterialsPage,
    plants: Sequence[Species],
    by: Membership,
    at: datetime,
) -> str:
    """Carry out a deed; a sentence that says what was done."""
    if page.page.layout is None:
        raise Refused("no_layout", _("No layout is begun here."), remedy=_("Begin it first."))
    uid = typed.get("line", "")
    if name == "add":
        return _add(typed, page, plants, by, at)
    if name in {"reserve", "reserve_buy"}:
        return reserve_line(
            page,
            uid,
            read.day(typed, "needed_on", _("Needed on")),
            only_in_stock=name == "reserve",
            by=by,
            at=at,
        )
    if name == "free":
        return free_line(page, uid, by=by, at=at)
    if name == "drop":
        return drop_line(page, uid, by=by, at=at)
    if name == "agree":
        today = words.local(at).date()
        row = materials.agree_substitute(
            line=page.line(uid).row.line, agreed_on=today, by=by, at=at
        )
        return _("%(what)s: agreed.") % {"what": row.what}
    if name == "count":
        return _count(typed, page, by, at)
    raise Refused("no_deed", _("Nothing was chosen."), remedy=_("Press one of the buttons."))


def _add(
    typed: Typed,
    page: MaterialsPage,
    plants: Sequence[Species],
    by: Membership,
    at: datetime,
) -> str:
    part = read.chosen(typed, "part", MaterialPart.values, _("What kind"))
    label = str(MaterialPart(part).label)
    species = read.species_named(typed, "species", plants)
    item = read.chosen(typed, "item", ["", *page.items], _("Item of the store"))
    rate = read.number(typed, "rate", _("One of them does"), 100_000)
    fields: dict[str, Any] = {
        "part": part,
        "what": read.text(typed, "what", _("Called"), 80) or label,
        "species": species[0] if species else None,
        "item_code": item,
        "share_percent": read.number(typed, "share", _("Share of the ground, %"), 100) or None,
        "rate": rate or None,
        "said_count": read.number(typed, "count", _("Or so many"), 100_000, _scale(part)),
        "unit_cents": cents_or_none(
            typed.get("price", ""), by.showroom.currency, field="price", label=_("Price of one")
        ),
        "secured": read.chosen(typed, "secured", Secured.values, _("Where from")),
        "secured_words": read.text(typed, "secured_words", _("Which"), 120),
        "secured_on": read.day(typed, "secured_on", _("Expected on")),
        "substitute_for": read.text(typed, "substitute_for", _("Instead of"), 80),
    }
    if part == MaterialPart.GROUND:
        fields["front_mm"] = read.number(typed, "front", _("Deep in front, cm"), 100, 10)
        fields["back_mm"] = read.number(typed, "back", _("Deep behind, cm"), 100, 10)
        fields["rate"] = read.number(typed, "bag", _("Litres a bag"), 1_000, 1_000) or None
    layout = page.page.layout
    if layout is None:
        raise Refused("no_layout", _("No layout is begun here."))
    row = materials.add_material(layout=layout, by=by, at=at, **fields)
    return _("%(what)s is on the list.") % {"what": row.what}


def _scale(part: str) -> int:
    """Stone is typed in kg and kept in g, hours in minutes."""
    if part in OF_KG:
        return 1_000
    return 60 if part in {MaterialPart.WORK, MaterialPart.CARE} else 1


def _count(typed: Typed, page: MaterialsPage, by: Membership, at: datetime) -> str:
    layout = page.page.layout
    if layout is None:
        raise Refused("no_layout", _("No layout is begun here."))
    found: dict[UUID, tuple[int | None, int | None]] = {}
    known = {line.row.line.uid: line for line in page.things}
    for uid in counted(page):
        line = known[uid].row.line
        count = read.number(typed, f"count-{uid}", line.what, 100_000, _scale(line.part))
        cents = cents_or_none(
            typed.get(f"cost-{uid}", ""),
            by.showroom.currency,
            field=f"cost-{uid}",
            label=line.what,
        )
        found[uid] = (count, cents)
    materials.count_materials(layout=layout, counted=found, by=by, at=at)
    return _("What went in is written down.")
