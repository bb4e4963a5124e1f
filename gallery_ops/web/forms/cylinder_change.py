"""The list of a cylinder change: every step with its words, what was read, who was there."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.values.quantity import Mass
from gallery_ops.overview.cylinder_choices import Choices
from gallery_ops.web.forms.cylinder import StampFields, choice, mass, text
from inventory.models import Container
from inventory.queries.cylinder_register import CylinderRow
from inventory.services.cylinder_change import ChangeDone
from inventory.services.cylinders import NewCylinder


class ChangeForm(StampFields):
    """What was read, weighed and said. The steps stand beside it."""

    room_ppm = forms.IntegerField(
        label=gettext_lazy("Room alarm, ppm"),
        required=False,
        help_text=gettext_lazy("300 to 100,000"),
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        error_messages={
            "invalid": gettext_lazy("This is no whole number. Allowed: 300 to 100,000 ppm.")
        },
    )
    came = forms.ChoiceField(
        label=gettext_lazy("The new one"),
        choices=[
            ("store", gettext_lazy("waited in the store")),
            ("came", gettext_lazy("came just now")),
        ],
        widget=forms.RadioSelect,
        error_messages={"required": gettext_lazy("Say where the new one comes from.")},
    )
    serial = text(
        gettext_lazy("Serial of the new one"), gettext_lazy("stamped on its shoulder"), longest=40
    )
    tare = mass(
        gettext_lazy("Tare of the new one"), gettext_lazy("stamped, without regulator; g or kg")
    )
    fill = mass(gettext_lazy("Fill of the new one"), gettext_lazy("g or kg"))
    gross_out = mass(gettext_lazy("Old one, gross"), gettext_lazy("g or kg"))
    out_regulator = forms.BooleanField(
        label=gettext_lazy("weighed with its regulator on"), required=False
    )
    gross_in = mass(gettext_lazy("New one, gross"), gettext_lazy("g or kg"))
    in_regulator = forms.BooleanField(
        label=gettext_lazy("weighed with its regulator on"), required=False
    )
    bubbles = forms.ChoiceField(
        label=gettext_lazy("Bubbles in the soapy water"),
        required=False,
        choices=[("no", gettext_lazy("none")), ("yes", gettext_lazy("bubbles"))],
        widget=forms.RadioSelect,
    )
    old_stays = forms.ChoiceField(
        label=gettext_lazy("The old one"),
        choices=[
            ("leaves", gettext_lazy("leaves with the supplier")),
            ("stays", gettext_lazy("stays, marked EMPTY")),
        ],
        widget=forms.RadioSelect,
        error_messages={"required": gettext_lazy("Say where the old one goes.")},
    )

    def __init__(
        self, known: Choices, ready: Mapping[str, CylinderRow], *args: Any, **more: Any
    ) -> None:
        super().__init__(*args, **more)
        self.known, self.ready = known, ready
        self.fields["new"] = choice(
            _("Which one of the store"),
            [(code, _spare(row)) for code, row in ready.items()],
            empty=_("none"),
        )
        self.fields["supplier"] = choice(
            _("Supplier"), [(name, name) for name in known.suppliers], empty=_("as the old one")
        )
        self.fields["scale"] = choice(
            _("Scale"), [(name, name) for name in known.scales], empty=_("not weighed")
        )
        self.fields["washer"] = choice(
            _("Washer"),
            [(code, row.name) for code, row in known.washers.items()],
            _("one leaves the stock"),
            empty=_("washers are not kept in stock"),
        )
        self.fields["second"] = choice(
            _("Second person"),
            [(uid, row.person.name) for uid, row in known.people.items()],
            _("always better; from 5 kg on needed"),
            empty=_("nobody"),
        )

    def new_one(self) -> NewCylinder | Container:
        """The new one as the service takes it. Raises Refused when it is not said which."""
        said = self.cleaned_data
        if said["came"] == "store":
            if not said["new"]:
                raise Refused(
                    "no_spare",
                    _("The new one: none of the store was chosen."),
                    {"new": _("One that waits there.")},
                    _("If it came just now, say so and read its shoulder."),
                )
            return self.ready[said["new"]].container
        return NewCylinder(
            serial=said["serial"],
            tare=said["tare"] or Mass(0),
            fill=said["fill"] or Mass(0),
            stamp=said["stamp"],
            tested_on=said["tested_on"],
            test_rule=said["test_rule"] or "",
            next_test_on=said["next_test_on"],
        )

    def done(self, steps: Mapping[str, datetime]) -> ChangeDone:
        """What is said of the change."""
        said = self.cleaned_data
        weighed = said["gross_out"] is not None or said["gross_in"] is not None
        if weighed and not said["scale"]:
            raise Refused(
                "scale_missing",
                _("Scale: none was named."),
                {"scale": _("The scale that was used.")},
            )
        return ChangeDone(
            steps=steps,
            bubbles={"no": False, "yes": True}.get(said["bubbles"]),
            second=self.known.people.get(said["second"]),
            gross_out=said["gross_out"],
            out_regulator_on=said["out_regulator"],
            gross_in=said["gross_in"],
            in_regulator_on=said["in_regulator"],
            scale=self.known.scales.get(said["scale"]),
            washer=self.known.washers.get(said["washer"]),
        )


def _spare(row: CylinderRow) -> str:
    return _("%(serial)s, %(left)s of %(fill)s") % {
        "serial": row.detail.serial,
        "left": row.content.short(),
        "fill": row.fill.short(),
    }
