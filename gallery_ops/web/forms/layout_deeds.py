"""Each button of the page on which a layout is built and changed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.overview.layout_page import LayoutPage
from gallery_ops.web import words
from gallery_ops.web.forms import layout_read as read
from gallery_ops.web.forms.orders import cents_or_none
from tanks.models import (
    Fixing,
    GroupPlace,
    Hardscape,
    Layout,
    LeafColour,
    PlantGroup,
    Species,
    Stage,
    Style,
)
from tanks.queries.layouts import groups_before
from tanks.services import layouts, planting, versions
from tanks.services.stages import advance_stage
from tanks.services.take_over import carry_over, take_over

Typed = read.Typed
MM_A_CM = 10
MG_A_KG = 1_000_000


@dataclass(frozen=True, slots=True)
class Doing:
    """What a deed may look at."""

    page: LayoutPage
    plants: Sequence[Species]
    by: Membership
    at: datetime

    @property
    def layout(self) -> Layout:
        """The layout; Refused where the glass is empty."""
        if self.page.layout is None:
            raise Refused(
                "no_layout",
                _("No layout stands here."),
                remedy=_("Begin one from the brief."),
            )
        return self.page.layout

    def group(self, typed: Typed, name: str = "group") -> PlantGroup:
        """The group chosen by its number."""
        for row in self.page.groups:
            if str(row.number) == typed.get(name, "") and row.to_at is None:
                return row
        raise Refused(
            "no_group", _("Which group? Nothing was chosen."), {name: _("One that stands.")}
        )


def do(name: str, typed: Typed, doing: Doing) -> str:
    """Carry out a deed; a sentence that says what was done.

    Raises Refused as the services do, with the names of the page's fields.
    """
    deed = DEEDS.get(name)
    if deed is None:
        raise Refused("no_deed", _("Nothing was chosen."), remedy=_("Press one of the buttons."))
    return deed(typed, doing)


def write_brief(typed: Typed, page: LayoutPage, by: Membership, at: datetime) -> str:
    """A new brief, or what stands in the one for the next layout."""
    cents = cents_or_none(
        typed.get("budget", ""), by.showroom.currency, field="budget", label=_("Budget")
    )
    fields: dict[str, Any] = {
        "title": read.text(typed, "title", _("Title"), 120),
        "style": read.chosen(typed, "style", ["", *Style.values], _("Style")),
        "idea": read.text(typed, "idea", _("Idea"), 2_000),
        "wishes": read.text(typed, "wishes", _("Species wished for"), 1_000),
        "must_not": read.text(typed, "must_not", _("Must not"), 1_000),
        "viewing_sides": read.text(typed, "viewing_sides", _("Seen from"), 40),
        "budget_cents": cents,
        "show_weeks": read.number(typed, "show_weeks", _("Weeks on show"), 520),
        "target_show_on": read.day(typed, "target_show_on", _("To be shown from")),
        "designer": read.designer_named(typed.get("designer", ""), by, at),
    }
    if not fields["title"]:
        raise Refused("no_title", _("Title: empty."), {"title": _("1 to 120 characters.")})
    if typed.get("agreed"):
        fields["agreed_at"] = at
    brief = page.brief
    used = brief is not None and any(row.brief_id == brief.pk for row in page.layouts)
    if brief is None or used:
        layouts.add_brief(tank=page.now.tank, by=by, at=at, **fields)
        return _("The brief is written down.")
    layouts.change_brief(brief=brief, by=by, at=at, **fields)
    return _("The brief is put right.")


def _begin(typed: Typed, doing: Doing) -> str:  # noqa: ARG001
    brief = doing.page.brief
    if brief is None:
        raise Refused("no_brief", _("There is no brief yet."), remedy=_("Write it first."))
    layout = layouts.begin_from_brief(brief=brief, by=doing.by, at=doing.at)
    return _("%(title)s is begun, with all that the brief says.") % {"title": layout.title}


def _story(typed: Typed, doing: Doing) -> str:
    title = read.text(typed, "title", _("Title"), 120)
    if not title:
        raise Refused("no_title", _("Title: empty."), {"title": _("1 to 120 characters.")})
    limits = {
        "inspiration": 2_000,
        "reference": 300,
        "made_different": 1_000,
        "hard_decision": 1_000,
        "may_change": 1_000,
        "never_change": 1_000,
        "story": 4_000,
    }
    layouts.change_layout(
        layout=doing.layout,
        by=doing.by,
        at=doing.at,
        title=title,
        inspired_by=read.chosen(
            typed, "inspired_by", ["", "nature", "work"], _("From nature, or from another work?")
        ),
        difficulty=read.number(typed, "difficulty", _("How hard is it, 1 to 5?"), 5) or None,
        **{name: read.text(typed, name, name, most) for name, most in limits.items()},
    )
    return _("The story is written down.")


def _group_fields(typed: Typed, doing: Doing) -> dict[str, Any]:
    long_mm = doing.page.now.tank.length_mm

    def permille(name: str, label: str, usual: int) -> int:
        mm = read.number(typed, name, label, long_mm // MM_A_CM, MM_A_CM)
        return usual if mm is None else min(1_000, round(mm * 1_000 / long_mm))

    return {
        "place": read.chosen(typed, "place", GroupPlace.values, _("Place")),
        "fixing": read.chosen(typed, "fixing", Fixing.values, _("Fixed")),
        "leaf_colour": read.chosen(typed, "leaf_colour", LeafColour.values, _("Leaf")),
        "centre_permille": permille("centre", _("Middle, cm from the left"), 500),
        "spread_permille": permille("spread", _("Width, cm"), 300),
        "height_mm": read.number(typed, "height", _("Height now, cm"), 200, MM_A_CM),
        "planted_count": read.number(typed, "planted_count", _("How many were planted"), 100_000),
        "planted_as": read.text(typed, "planted_as", _("Of what"), 40),
        "provenance": read.text(typed, "provenance", _("Where from"), 200),
        **{
            name: read.text(typed, name, label, 300)
            for name, label in (
                ("trimming", _("What is cut")),
                ("left_to_spread", _("What is left to spread")),
                ("trim_reason", _("Why")),
                ("if_not_trimmed", _("What happens if not")),
            )
        },
    }


def _species(typed: Typed, doing: Doing) -> list[Species]:
    found = read.species_named(typed, "species", doing.plants)
    if not found:
        raise Refused(
            "no_species", _("Species: nothing was given."), {"species": _("One name or more.")}
        )
    return found


def _group_add(typed: Typed, doing: Doing) -> str:
    numbers = [row.number for row in (*doing.page.groups, *doing.page.left)]
    group = layouts.add_plant_group(
        layout=doing.layout,
        species=_species(typed, doing),
        number=max(numbers, default=0) + 1,
        by=doing.by,
        at=doing.at,
        **_group_fields(typed, doing),
    )
    return _("Group %(n)d is planted.") % {"n": group.number}


def _group_change(typed: Typed, doing: Doing) -> str:
    group = doing.group(typed)
    fields, species = _group_fields(typed, doing), _species(typed, doing)
    if {one.pk for one in species} == {one.pk for one in group.species.all()}:
        planting.change_plant_group(group=group, by=doing.by, at=doing.at, **fields)
        return _("Group %(n)d is put right.") % {"n": group.number}
    planting.replace_plant_group(group=group, species=species, by=doing.by, at=doing.at, **fields)
    return _("Group %(n)d is planted anew; what stood there stays in the list.") % {
        "n": group.number
    }


def _group_end(typed: Typed, doing: Doing) -> str:
    group = planting.end_plant_group(group=doing.group(typed), by=doing.by, at=doing.at)
    return _("Group %(n)d has left; it stays in the list with both dates.") % {"n": group.number}


def _together(typed: Typed, doing: Doing) -> str:
    rows = [row for row in doing.page.groups if typed.get(f"with-{row.number}")]
    new = planting.grow_together(groups=rows, by=doing.by, at=doing.at)
    numbers = ", ".join(str(row.number) for row in rows)
    return _("%(numbers)s are one group now, number %(n)d.") % {
        "numbers": numbers,
        "n": new.number,
    }


def _piece_add(typed: Typed, doing: Doing) -> str:
    tank = doing.page.now.tank
    cm = tank.length_mm // MM_A_CM
    centre = read.number(typed, "centre", _("Middle, cm from the left"), cm, MM_A_CM)
    piece = layouts.add_hardscape(
        layout=doing.layout,
        kind=read.chosen(typed, "kind", ["stone", "wood"], _("Stone or wood")),
        name=read.text(typed, "name", _("Called"), 80),
        mass_in_mg=read.number(typed, "mass_in", _("Weighed going in, kg"), 2_000, MG_A_KG),
        centre_permille=500 if centre is None else round(centre * 1_000 / tank.length_mm),
        length_mm=read.number(typed, "length", _("Length, cm"), cm, MM_A_CM) or 150,
        height_mm=read.number(typed, "height", _("Height, cm"), 200, MM_A_CM) or 150,
        by=doing.by,
        at=doing.at,
    )
    return _("%(name)s stands in it.") % {"name": piece}


def _piece_out(typed: Typed, doing: Doing) -> str:
    found: list[Hardscape] = [
        row for row in doing.page.pieces if str(row.pk) == typed.get("piece", "")
    ]
    if not found:
        raise Refused("no_piece", _("Which piece? Nothing was chosen."), {"piece": _("One.")})
    mass = read.number(typed, "mass_out", _("Weighed coming out, kg"), 2_000, MG_A_KG)
    if mass is None:
        raise Refused(
            "no_mass",
            _("Weighed coming out: nothing was given."),
            {"mass_out": _("More than 0, up to 2,000 kg.")},
        )
    piece = planting.weigh_piece(piece=found[0], mass_out_mg=mass, by=doing.by, at=doing.at)
    return _("%(name)s is out.") % {"name": piece}


def _ground(typed: Typed, doing: Doing) -> str:
    layers = []
    for n in range(1, planting.MOST_LAYERS + 1):
        material = typed.get(f"material-{n}", "").strip()
        if not material:
            continue
        front = read.number(typed, f"front-{n}", _("Front %(n)d, cm") % {"n": n}, 100, MM_A_CM)
        back = read.number(typed, f"back-{n}", _("Back %(n)d, cm") % {"n": n}, 100, MM_A_CM)
        if front is None or back is None:
            raise Refused(
                "no_depth",
                _("%(material)s: how deep?") % {"material": material},
                {f"front-{n}": _("Both depths in cm, 0 is allowed.")},
            )
        layers.append((read.text(typed, f"material-{n}", _("Layer"), 80), front, back))
    planting.set_ground(layout=doing.layout, layers=layers, by=doing.by, at=doing.at)
    return _("The ground is written down.")


def _version(typed: Typed, doing: Doing) -> str:
    row = versions.begin_version(
        layout=doing.layout,
        kind=typed.get("kind", ""),
        reason=typed.get("reason", ""),
        by=doing.by,
        at=doing.at,
    )
    return _("Version %(v)s stands.") % {"v": f"{row.major}.{row.minor}"}


def _stage(typed: Typed, doing: Doing) -> str:
    to = read.chosen(typed, "to", Stage.values, _("Stage"))
    flooded_on = read.day(typed, "flooded_on", _("Flooded on"))
    if flooded_on is not None:
        if flooded_on > words.local(doing.at).date():
            raise Refused(
                "day_to_come",
                _("Flooded on: that day is still to come."),
                {"flooded_on": _("Today or earlier.")},
            )
        layouts.change_layout(layout=doing.layout, flooded_on=flooded_on, by=doing.by, at=doing.at)
    advance_stage(
        layout=doing.layout,
        to=to,
        by=doing.by,
        at=doing.at,
        override_reason=read.text(typed, "why", _("Why"), 300),
    )
    return _("It is in %(stage)s now.") % {"stage": Stage(to).label}


def _approve(typed: Typed, doing: Doing) -> str:
    on = read.day(typed, "approved_on", _("On"))
    row = versions.approve_label(
        layout=doing.layout,
        approved_by=typed.get("approved_by", ""),
        approved_on=on or words.local(doing.at).date(),
        by=doing.by,
        at=doing.at,
    )
    return _("The label of version %(v)s is frozen: visitors read these words.") % {
        "v": f"{row.major}.{row.minor}"
    }


def _take_over(typed: Typed, doing: Doing) -> str:  # noqa: ARG001
    done = take_over(layout=doing.layout, by=doing.by, at=doing.at)
    return _("Written from the list: %(groups)d groups, %(pieces)d pieces, %(layers)d layers.") % {
        "groups": done.groups,
        "pieces": done.pieces,
        "layers": done.layers,
    }


def _carry(typed: Typed, doing: Doing) -> str:
    rows = [row for row in groups_before(doing.layout) if typed.get(f"carry-{row.number}")]
    found = carry_over(groups=rows, layout=doing.layout, by=doing.by, at=doing.at)
    return ngettext("%(n)d group grows on.", "%(n)d groups grow on.", len(found)) % {
        "n": len(found)
    }


def _close(typed: Typed, doing: Doing) -> str:
    lessons = read.text(typed, "lessons", _("Lessons"), 2_000)
    if not lessons:
        raise Refused(
            "no_lessons",
            _("Lessons: nothing was given."),
            {"lessons": _("One line that the next brief can use.")},
        )
    row = layouts.close_layout(layout=doing.layout, lessons=lessons, by=doing.by, at=doing.at)
    return _("%(title)s is out; the glass is empty.") % {"title": row.title}


DEEDS: dict[str, Callable[[Typed, Doing], str]] = {
    "begin": _begin,
    "story": _story,
    "group_add": _group_add,
    "group_change": _group_change,
    "group_end": _group_end,
    "together": _together,
    "piece_add": _piece_add,
    "piece_out": _piece_out,
    "ground": _ground,
    "version": _version,
    "stage": _stage,
    "approve": _approve,
    "take_over": _take_over,
    "carry": _carry,
    "close": _close,
}
