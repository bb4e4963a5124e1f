"""The first page of an empty gallery: its name and clock, and its owner."""

from __future__ import annotations

from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.utils.translation import gettext_lazy as _


class FirstRunForm(forms.Form):
    """Showroom and owner; what was typed stays when something is refused."""

    name = forms.CharField(label=_("Name of the gallery"), max_length=120)
    place = forms.CharField(label=_("Town"), max_length=120, required=False)
    zone = forms.CharField(
        label=_("Time zone"), max_length=64, help_text=_("such as Europe/London or Asia/Tokyo")
    )
    country = forms.CharField(
        label=_("Country"), max_length=2, min_length=2, help_text=_("two letters, such as GB or DE")
    )
    currency = forms.CharField(
        label=_("Currency"),
        max_length=3,
        min_length=3,
        help_text=_("three letters, such as GBP or EUR"),
    )
    language = forms.ChoiceField(
        label=_("Language"), choices=[("en", "English"), ("de", "Deutsch")], initial="en"
    )
    decimal_mark = forms.ChoiceField(
        label=_("Decimal mark"), choices=[(".", _("point, 2.5")), (",", _("comma, 2,5"))]
    )
    owner_name = forms.CharField(label=_("Your name"), max_length=120)
    owner_login = forms.RegexField(
        r"^[a-z0-9](?:[a-z0-9.\-]*[a-z0-9])?$",
        label=_("Your name for signing in"),
        max_length=60,
        help_text=_("small letters, digits, points and hyphens, such as maud.e"),
        error_messages={
            "invalid": _("Allowed: small letters, digits, points and hyphens, such as maud.e.")
        },
    )
    password = forms.CharField(
        label=_("Password"),
        min_length=10,
        max_length=200,
        widget=forms.PasswordInput(render_value=True, attrs={"autocomplete": "new-password"}),
        help_text=_("at least 10 characters"),
    )

    def clean_zone(self) -> str:
        """A zone that this machine knows."""
        zone = str(self.cleaned_data["zone"]).strip()
        if zone not in available_timezones():
            raise forms.ValidationError(
                _("%(zone)s is no time zone. Write one such as Europe/London."),
                params={"zone": zone},
            )
        return zone

    def clean(self) -> dict[str, Any]:
        """Country and currency in capitals."""
        data: dict[str, Any] = super().clean() or {}
        for key in ("country", "currency"):
            text = str(data.get(key, "")).upper()
            if text and not (text.isascii() and text.isalpha()):
                self.add_error(key, _("Letters only."))
            data[key] = text
        return data
