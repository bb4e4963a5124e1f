"""A cylinder is moved, sent away, taken back, or leaves: what is typed for each."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gallery_ops.overview.cylinder_choices import Choices
from gallery_ops.web.forms.cylinder import StampFields, Wired, choice, mass, text
from tanks.models import Tank

MANIFOLD = 4
"""Tanks that one cylinder can feed on its page."""


class MoveForm(Wired):
    """Where it stands and what it feeds from now on."""

    place = text(gettext_lazy("Place"), gettext_lazy("plinth, recess, cage"))
    held_by = text(gettext_lazy("How it is held"), gettext_lazy("chain, strap, bracket; upright"))

    bubbles = forms.ChoiceField(
        label=gettext_lazy("Bubbles in the soapy water, if it goes up"),
        required=False,
        choices=[("no", gettext_lazy("none")), ("yes", gettext_lazy("bubbles"))],
        widget=forms.RadioSelect,
    )

    def __init__(self, known: Choices, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.known = known
        self.fields["room"] = choice(
            _("Room"), [(uid, row.name) for uid, row in known.rooms.items()], empty=_("the store")
        )
        self.fields["second"] = choice(
            _("Who helps"),
            [(uid, row.person.name) for uid, row in known.people.items()],
            _("two people from 5 kg on"),
            empty=_("nobody"),
        )
        tanks = [(code, f"{code} {known.titles[code]}".strip()) for code in known.tanks]
        for n in range(1, MANIFOLD + 1):
            self.fields[f"tank_{n}"] = choice(
                _("Feeds tank %(n)d") % {"n": n}, tanks, empty=_("none")
            )
            self.fields[f"share_{n}"] = forms.IntegerField(
                label=_("Part of 1000, estimated"),
                required=False,
                min_value=1,
                max_value=1000,
                error_messages={
                    "invalid": _("A whole number. Allowed: 1 to 1000."),
                    "min_value": _("Allowed: 1 to 1000."),
                    "max_value": _("Allowed: 1 to 1000."),
                },
            )

    def tanks(self) -> list[tuple[Any, Any]]:
        """Pairs of bound fields, a tank and its part."""
        return [(self[f"tank_{n}"], self[f"share_{n}"]) for n in range(1, MANIFOLD + 1)]

    def shares(self) -> dict[Tank, int]:
        """Tank -> thousandths; one tank alone has all of it."""
        rows = [
            (self.cleaned_data[f"tank_{n}"], self.cleaned_data[f"share_{n}"])
            for n in range(1, MANIFOLD + 1)
            if self.cleaned_data[f"tank_{n}"]
        ]
        if len(rows) == 1:
            return {self.known.tanks[rows[0][0]]: 1000}
        return {self.known.tanks[code]: share or 0 for code, share in rows}


class RefillForm(StampFields):
    """It goes away, or is back; what a scale shows, and on the way back the stamp again."""

    gross = mass(
        gettext_lazy("Gross, regulator off"), gettext_lazy("what the scale shows; g or kg")
    )

    field_order = ["gross", "scale", "second", "stamp", "tested_on", "test_rule", "next_test_on"]

    def __init__(self, known: Choices, *args: Any, is_back: bool, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["scale"] = choice(_("Scale"), [(name, name) for name in known.scales])
        self.fields["second"] = choice(
            _("Who helps"),
            [(uid, row.person.name) for uid, row in known.people.items()],
            _("two people from 5 kg on"),
            empty=_("nobody"),
        )
        if is_back:
            self.fields["gross"].required = True
        else:
            for name in ("stamp", "tested_on", "test_rule", "next_test_on"):
                del self.fields[name]
            self.fields["gross"].help_text = _("closed, regulator off; may stay empty")
        self.order_fields(self.field_order)


class RetireForm(Wired):
    """Why it leaves for good."""

    reason = text(
        gettext_lazy("Reason"),
        gettext_lazy("scrapped, sold, given back; 3 to 200 characters"),
        longest=200,
    )
