"""The fields of a brief, of building day and of what changes in a layout later."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _

from gallery_ops.web import words
from gallery_ops.web.forms.boxes import Box, Choice
from tanks.models import Fixing, GroupPlace, LeafColour, PlantGroup, Species, Stage, Style

TEXT = 1_000


def choices(of: Sequence[tuple[object, object]], empty: str = "") -> list[Choice]:
    """The choices of a model as plain values, with a first empty one where that may stay."""
    found = [(str(value), str(label)) for value, label in of]
    return [("", empty), *found] if empty else found


def brief_boxes(designers: Sequence[str]) -> list[Box]:
    """What the next layout should be."""
    names = [(name, name) for name in designers]
    return [
        Box("title", _("Title")),
        Box("designer", _("Designer"), _("a new name is written down"), "list", names),
        Box("style", _("Style"), "", "select", choices(Style.choices, _("not said"))),
        Box("idea", _("Idea"), _("becomes the first words of its story"), "area"),
        Box("wishes", _("Species wished for"), "", "area"),
        Box("must_not", _("Must not"), _("what may not be in it"), "area"),
        Box("viewing_sides", _("Seen from"), _("such as front and left"), longest=40),
        Box("budget", _("Budget"), _("in the money of the house")),
        Box("show_weeks", _("Weeks on show"), _("1 to 520")),
        Box("target_show_on", _("To be shown from"), "", "date"),
        Box("agreed", _("Agreed with the designer today"), "", "check"),
    ]


def story_boxes() -> list[Box]:
    """Five questions on building day, and what the label tells."""
    sources = [("", _("not said")), ("nature", _("nature")), ("work", _("another work"))]
    hard = [("", _("not said")), *[(str(n), str(n)) for n in range(1, 6)]]
    return [
        Box("title", _("Title")),
        Box("inspiration", _("Where does it come from?"), "", "area"),
        Box("inspired_by", _("From nature, or from another work?"), "", "select", sources),
        Box("reference", _("Which place, or which work?"), "", longest=300),
        Box("made_different", _("What was made different?"), "", "area"),
        Box("hard_decision", _("What was the hard decision?"), "", "area"),
        Box("may_change", _("What may change in time?"), "", "area"),
        Box("never_change", _("What would you never change?"), "", "area"),
        Box("story", _("Words on the label"), _("100 words at most, 25 a sentence"), "area"),
        Box("difficulty", _("How hard is it, 1 to 5?"), "", "select", hard),
    ]


def group_boxes(plants: Sequence[Species]) -> list[Box]:
    """One plant group as it was planted."""
    names = [(one.scientific_name, one.vernacular_name or one.scientific_name) for one in plants]
    return [
        Box("species", _("Species"), _("several parted by commas"), "list", names, longest=300),
        Box("place", _("Place"), "", "select", choices(GroupPlace.choices)),
        Box("centre", _("Middle, cm from the left"), "", longest=8),
        Box("spread", _("Width, cm"), "", longest=8),
        Box("height", _("Height now, cm"), "", longest=8),
        Box("planted_count", _("How many were planted"), "", longest=6),
        Box("planted_as", _("Of what"), _("cups, pots, pieces of 5 to 8 cm"), longest=40),
        Box("fixing", _("Fixed"), "", "select", choices(Fixing.choices)),
        Box("leaf_colour", _("Leaf as the designer saw it"), "", "select",
            choices(LeafColour.choices)),
        Box("trimming", _("What is cut"), "", "area"),
        Box("left_to_spread", _("What is left to spread"), "", "area"),
        Box("trim_reason", _("Why"), "", "area"),
        Box("if_not_trimmed", _("What happens if not"), "", "area"),
        Box("provenance", _("Where from"), "", longest=200),
    ]  # fmt: skip


def piece_boxes() -> list[Box]:
    """One stone or piece of wood."""
    return [
        Box("kind", _("Stone or wood"), "", "select",
            [("stone", _("stone")), ("wood", _("wood"))]),
        Box("name", _("Called"), _("such as root W-31"), longest=80),
        Box("mass_in", _("Weighed going in, kg"), "", longest=10),
        Box("centre", _("Middle, cm from the left"), "", longest=8),
        Box("length", _("Length, cm"), "", longest=8),
        Box("height", _("Height, cm"), "", longest=8),
    ]  # fmt: skip


def ground_boxes(rows: int = 4) -> list[Box]:
    """Layers from below upwards."""
    found = []
    for n in range(1, rows + 1):
        found += [
            Box(f"material-{n}", _("Layer %(n)d, from below") % {"n": n}, longest=80),
            Box(f"front-{n}", _("Front %(n)d, cm") % {"n": n}, longest=8),
            Box(f"back-{n}", _("Back %(n)d, cm") % {"n": n}, longest=8),
        ]
    return found


def version_boxes() -> list[Box]:
    """A new number."""
    kinds = [
        ("minor", _("minor: plants")),
        ("major", _("major: more than a fifth of the stone, or a new focal point")),
    ]
    return [
        Box("kind", _("What kind"), "", "select", kinds),
        Box("reason", _("What changed"), _("stands below its step"), longest=200),
    ]


def stage_boxes() -> list[Box]:
    """Further in its life."""
    return [
        Box("to", _("Stage"), "", "select", choices(Stage.choices)),
        Box("flooded_on", _("Flooded on"), _("day 0; only when it is flooded"), "date"),
        Box("why", _("Why, if a stage is passed over"), _("kept with your name and part")),
    ]


def approve_boxes() -> list[Box]:
    """Who said yes to the label, and when."""
    return [
        Box("approved_by", _("Approved by"), _("the designer, or who stands in"), "list"),
        Box("approved_on", _("On"), "", "date"),
    ]


def close_boxes() -> list[Box]:
    """Out of the glass."""
    return [
        Box("lessons", _("Lessons"), _("what worked, what failed; shown at the next brief"), "area")
    ]


def group_values(group: PlantGroup | None, length_mm: int) -> dict[str, object]:
    """What stands in the fields of a group that is put right; nothing without one."""
    if group is None:
        return {}
    plain = (
        "place", "planted_count", "planted_as", "fixing", "leaf_colour", "trimming",
        "left_to_spread", "trim_reason", "if_not_trimmed", "provenance",
    )  # fmt: skip
    cm = length_mm / 10
    return {name: getattr(group, name) for name in plain} | {
        "species": ", ".join(one.scientific_name for one in group.species.all()),
        "centre": words.number(round(group.centre_permille * cm / 1_000, 1)),
        "spread": words.number(round(group.spread_permille * cm / 1_000, 1)),
        "height": words.number(group.height_mm / 10) if group.height_mm else "",
    }
