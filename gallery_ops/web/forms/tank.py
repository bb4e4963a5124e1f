"""A tank by hand: every field reads what people write, as the list does ("60 cm", "2,5")."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from gallery_ops.fleet_file import words
from gallery_ops.fleet_file.read import FleetFile
from gallery_ops.fleet_file.read.by_hand import read_values
from gallery_ops.kernel.values.quantity import Mass, Volume
from gallery_ops.web.words import mark_in_use
from tanks.models import Stage, Style, Tank
from tanks.queries.tanks import TankNow

STAGES = [
    ("", _("as it is")),
    ("vacant", _("vacant, no layout")),
    *[(value, label) for value, label in Stage.choices],
]
KINDS_OF_GLASS: Any = Tank._meta.get_field("kind_of_glass").choices
STYLES = [("", _("as it is")), *Style.choices]


def _text(
    label: Any, hint: Any = "", *, required: bool = False, longest: int = 60, known: str = ""
) -> Any:
    """A line of text. known : id of the list of names that are offered."""
    return forms.CharField(
        label=label,
        help_text=hint,
        required=required,
        max_length=longest,
        error_messages={"required": format_lazy("{}: {}.", _("Empty. Write it"), hint)},
        widget=forms.TextInput(attrs={"list": known} if known else {}),
    )


class TankForm(forms.Form):
    """Glass, place, layout and what is given; what is left empty stays as it is."""

    code = _text(_("Code"), _("on its label, such as T07"), required=True, longest=16)
    length = _text(_("Length outside, cm"), _("10 to 500"), required=True)
    width = _text(_("Width outside, cm"), _("10 to 300, front to back"), required=True)
    height = _text(_("Height outside, cm"), _("10 to 200"), required=True)
    glass = _text(_("Glass, mm"), _("2 to 50"), required=True)
    kind_of_glass = forms.ChoiceField(
        label=_("Kind of glass"),
        help_text=_(
            "float shows a greenish edge, low-iron a pale one (common practice, no source)"
        ),
        choices=KINDS_OF_GLASS,
        required=False,
        initial="float",
    )
    room = _text(_("Room"), _("a new name makes a new room"), longest=80, known="rooms")
    place = _text(_("Place in the room"), _("empty: called like the tank"), longest=80)
    zone = _text(_("Zone of the walk"), _("such as A"), longest=8, known="zones")
    order = _text(_("Place in the walk"), _("a whole number; lower comes first"))
    title = _text(_("Title of the layout"), longest=120)
    designer = _text(_("Designer"), longest=120, known="designers")
    stage = forms.ChoiceField(label=_("Stage"), choices=STAGES, required=False)
    reason = _text(
        _("Why, if a stage is passed over"), _("kept with your name and part"), longest=300
    )
    flooded = _text(_("Flooded on"), _("the day 0 of its count, such as 2026-03-07"), longest=20)
    style = forms.ChoiceField(label=_("Style"), choices=STYLES, required=False)
    dose = _text(_("Dose a day, mL"), _("0 to 1,000, by hand"))
    co2 = _text(_("CO2 a day, g"), _("0 to 500"))
    food = _text(_("Food a day, g"), _("0 to 100; 60 mg is understood too"))

    NOT_READ = ("reason",)
    GLASS_AND_PLACE = (
        "code",
        "length",
        "width",
        "height",
        "glass",
        "kind_of_glass",
        "room",
        "place",
        "zone",
        "order",
    )
    OF_LAYOUT = ("title", "designer", "stage", "reason", "flooded", "style")
    GIVEN = ("dose", "co2", "food")

    file: FleetFile

    def clean(self) -> dict[str, Any]:
        """Read all fields as one row; each refusal stands at its field."""
        data: dict[str, Any] = super().clean() or {}
        values = {
            name: str(data.get(name, "")) for name in self.fields if name not in self.NOT_READ
        }
        labels = {name: str(self.fields[name].label) for name in values}
        self.file = read_values(values, labels, mark_in_use())
        for problem in self.file.problems:
            if problem.letter in self.fields and problem.letter not in self.errors:
                said = f"“{problem.quoted}”: " if problem.quoted else ""
                self.add_error(problem.letter, f"{said}{problem.allowed}")
        return data

    def glass_and_place(self) -> list[forms.BoundField]:
        """The left half of the page."""
        return [self[name] for name in self.GLASS_AND_PLACE]

    def of_layout(self) -> list[forms.BoundField]:
        """What stands in the glass."""
        return [self[name] for name in self.OF_LAYOUT]

    def given(self) -> list[forms.BoundField]:
        """What it gets each day."""
        return [self[name] for name in self.GIVEN]

    def add_refusals(self, fields: dict[str, str], sentence: str) -> None:
        """What the services say, at the field where it helps."""
        known = {"to": "stage", **{name: name for name in self.fields}}
        at_fields = {known[name]: text for name, text in fields.items() if name in known}
        for name, text in at_fields.items():
            self.add_error(name, text)
        if not at_fields:
            self.add_error(None, sentence)


def values_of(tank: TankNow, planned: dict[str, int]) -> dict[str, str]:
    """What a form about a standing tank shows at first.

    planned : purpose -> daily amount [base units]
    """
    mark, glass, position, layout = mark_in_use(), tank.tank, tank.position, tank.layout
    values = {
        "code": tank.code,
        "length": words.mm_text(glass.length_mm, mark).removesuffix(" cm"),
        "width": words.mm_text(glass.width_mm, mark).removesuffix(" cm"),
        "height": words.mm_text(glass.height_mm, mark).removesuffix(" cm"),
        "glass": str(glass.glass_mm),
        "kind_of_glass": glass.kind_of_glass,
        "stage": tank.stage,
    }
    if position is not None:
        values |= {
            "room": position.room.name,
            "place": position.name,
            "zone": position.zone.code,
            "order": str(position.walking_order),
        }
    if layout is not None:
        designer = layout.designer.name if layout.designer else ""
        flooded = layout.flooded_on.isoformat() if layout.flooded_on else ""
        values |= {
            "title": layout.title,
            "style": layout.style,
            "designer": designer,
            "flooded": flooded,
        }
    for purpose, field in (("dose", "dose"), ("gas", "co2"), ("food", "food")):
        if purpose in planned:
            base = planned[purpose]
            values[field] = (Volume(base) if purpose == "dose" else Mass(base)).text(mark)
    return values
