"""A cylinder by hand: every mass reads what people write, "7.48 kg" or "1350"."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gallery_ops.kernel.errors import GalleryError
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import parse_quantity
from gallery_ops.overview.cylinder_choices import Choices
from gallery_ops.web.words import mark_in_use
from inventory.services.cylinders import NewCylinder
from tanks.science.cylinder_tests import RULES, TYPED

NOT_SAID = gettext_lazy("nobody said")


class MassField(forms.CharField):
    """A mass as people write it; grams when no unit stands there."""

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse_quantity(
                text, "mass", field=str(self.label), default="g", mark=mark_in_use()
            )
        except OutOfRange as no:
            raise forms.ValidationError(no.sentence) from None


def mass(label: Any, hint: Any = "", *, required: bool = False) -> MassField:
    """A field for a mass."""
    return MassField(
        label=label,
        help_text=hint,
        required=required,
        max_length=20,
        error_messages={"required": _("Empty. Read it off the stamp, in g or kg.")},
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )


def day(label: Any, hint: Any = "", *, required: bool = False) -> forms.DateField:
    """A field for a day."""
    return forms.DateField(
        label=label,
        help_text=hint,
        required=required,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={
            "required": _("Empty. Choose the day."),
            "invalid": _("This is no day. Allowed: a day such as 2021-05-01."),
        },
    )


def text(label: Any, hint: Any = "", *, required: bool = False, longest: int = 80) -> Any:
    """A line of text."""
    return forms.CharField(
        label=label,
        help_text=hint,
        required=required,
        max_length=longest,
        error_messages={"required": _("Empty. Read it off the cylinder.")},
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


def choice(label: Any, rows: Iterable[tuple[str, Any]], hint: Any = "", *, empty: Any = "") -> Any:
    """One of a list; ``empty`` is what stands for none, and makes it optional."""
    options = [("", empty), *rows] if empty else list(rows)
    return forms.ChoiceField(label=label, help_text=hint, choices=options, required=not empty)


class Wired(forms.Form):
    """A form that takes a refusal of the house as its own errors, and marks bad fields."""

    def refuse(self, no: GalleryError) -> None:
        """Sentences under their fields; what has no field stands above."""
        shown = False
        for name, words in no.fields.items():
            if name in self.fields:
                self.add_error(name, f"{no.sentence} {words}" if not shown else words)
                shown = True
        if not shown:
            said = list(dict.fromkeys(no.fields.values())) if len(no.fields) == 1 else []
            self.add_error(None, " ".join([no.sentence, *said]))
        if no.remedy:
            self.add_error(None, no.remedy)

    def summary(self) -> list[dict[str, str]]:
        """What is wrong, each line with the field that it leads to."""
        return [
            {
                "id": "" if name == "__all__" else self[name].id_for_label,
                "sentence": str(words) if name == "__all__" else f"{self[name].label}: {words}",
            }
            for name, found in self.errors.items()
            for words in found
        ]


def rule_choices() -> list[tuple[str, Any]]:
    """The rules with a name, and the day as stamped."""
    return [(key, row.name) for key, row in RULES.items()] + [
        (TYPED, _("the day itself, as the stamp or a paper says"))
    ]


class StampFields(Wired):
    """What is read off the shoulder."""

    stamp = text(
        gettext_lazy("Test stamp, letter by letter"), gettext_lazy("as it is stamped"), longest=40
    )
    tested_on = day(
        gettext_lazy("Last test"),
        gettext_lazy("from the stamp; the 1st if only a month is stamped"),
    )
    test_rule = forms.ChoiceField(
        label=gettext_lazy("Next test is set by"),
        required=False,
        help_text=gettext_lazy("a rule of your country and kind of cylinder; ask the filler"),
    )
    next_test_on = day(gettext_lazy("Next test"), gettext_lazy("only if the day itself is stamped"))

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["test_rule"].choices = [("", NOT_SAID), *rule_choices()]  # type: ignore[attr-defined]


class CylinderForm(StampFields):
    """What is written down of one that came, or put right."""

    serial = text(
        gettext_lazy("Serial"), gettext_lazy("stamped on the shoulder"), required=True, longest=40
    )
    tare = mass(
        gettext_lazy("Tare"), gettext_lazy("stamped, without regulator; g or kg"), required=True
    )
    fill = mass(gettext_lazy("Fill"), gettext_lazy("gas in a full one; g or kg"), required=True)
    regulator = mass(
        gettext_lazy("Regulator that stays on when weighed"), gettext_lazy("empty if it comes off")
    )
    is_exchange = forms.ChoiceField(
        label=gettext_lazy("When it is empty"),
        choices=[
            ("exchange", gettext_lazy("exchanged for another")),
            ("refill", gettext_lazy("refilled, it is ours")),
        ],
        widget=forms.RadioSelect,
        error_messages={"required": gettext_lazy("Say whether it is exchanged or refilled.")},
    )
    held_by = text(gettext_lazy("How it is held"), gettext_lazy("chain, strap, bracket; upright"))
    name = text(gettext_lazy("What people call it"), gettext_lazy("may stay empty"))

    field_order = [
        "serial", "tare", "fill", "content", "stamp", "tested_on", "test_rule", "next_test_on",
        "regulator", "is_exchange", "supplier", "held_by", "name", "item", "room", "place", "tank",
    ]  # fmt: skip

    def stamped(self) -> dict[str, Any]:
        """The fields as the services take them."""
        found = {name: self.cleaned_data[name] for name in _STAMPED}
        found["is_exchange"] = self.cleaned_data["is_exchange"] == "exchange"
        found["test_rule"] = found["test_rule"] or ""
        return found


_STAMPED = (
    "serial", "tare", "fill", "regulator", "stamp", "tested_on", "test_rule", "next_test_on",
    "held_by", "name",
)  # fmt: skip


class NewCylinderForm(CylinderForm):
    """One that came, with where it stands now."""

    content = mass(gettext_lazy("Gas in it now"), gettext_lazy("empty: it is full"))
    place = text(gettext_lazy("Place"), gettext_lazy("plinth, recess, cage"))

    def __init__(self, known: Choices, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["item"] = choice(_("Gas"), [(k, row.name) for k, row in known.gases.items()])
        self.fields["supplier"] = choice(
            _("Supplier"), [(name, name) for name in known.suppliers], empty=_("none")
        )
        self.fields["room"] = choice(
            _("Room"), [(uid, row.name) for uid, row in known.rooms.items()], empty=_("the store")
        )
        self.fields["tank"] = choice(
            _("Feeds the tank"),
            [(code, f"{code} {known.titles[code]}".strip()) for code in known.tanks],
            _("to replace one that hangs there, use Change it"),
            empty=_("none, it waits"),
        )
        self.order_fields(self.field_order)

    def cylinder(self) -> NewCylinder:
        """As the services take it."""
        extra = {name: self.cleaned_data[name] for name in ("content", "place")}
        return NewCylinder(**self.stamped(), **extra)
