"""The air of a room by hand: its volume, and what its gas alarm showed."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from gallery_ops.web.forms.cylinder import Wired, day, text


class RoomForm(Wired):
    """Somebody measured the room."""

    volume_m3 = forms.IntegerField(
        label=_("Volume of its air, m³"),
        help_text=_("length × width × height, less what stands in it; 1 to 100,000"),
        error_messages={
            "required": _("Empty. Measure the room; do not guess."),
            "invalid": _("This is no whole number. Allowed: 1 to 100,000 m³."),
        },
    )
    measured_by = text(_("Measured by"), required=True)
    measured_on = day(_("Measured on"), required=True)
    has_gas_alarm = forms.ChoiceField(
        label=_("A gas alarm for CO2 hangs in it"),
        choices=[("yes", _("yes")), ("no", _("no"))],
        widget=forms.RadioSelect,
        error_messages={"required": _("Say whether one hangs there.")},
    )


class AirForm(Wired):
    """Somebody read the alarm, or tested it."""

    co2_ppm = forms.IntegerField(
        label=_("What it shows, ppm"),
        required=False,
        help_text=_("300 to 100,000; outdoor air has about 420"),
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
        error_messages={"invalid": _("This is no whole number. Allowed: 300 to 100,000 ppm.")},
    )
    rang = forms.ChoiceField(
        label=_("Tested just now?"),
        required=False,
        choices=[("", _("only read")), ("yes", _("tested, it rang")), ("no", _("it did not ring"))],
        widget=forms.RadioSelect,
    )
