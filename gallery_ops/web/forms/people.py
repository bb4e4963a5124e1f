"""Somebody new, another PIN, a token for a program."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

ROLES = [
    ("carer", _("carer")),
    ("senior_carer", _("senior carer")),
    ("manager", _("manager")),
    ("owner", _("owner")),
    ("guest_designer", _("guest designer")),
]
SKILLS = [
    ("C1", _("C1, daily care")),
    ("C2", _("C2, tests, trims and filters")),
    ("C3", _("C3, gas, livestock and first response")),
    ("D", _("D, design")),
]


class PersonForm(forms.Form):
    """Somebody new."""

    name = forms.CharField(label=_("Name, as it is called across the room"), max_length=120)
    login = forms.CharField(
        label=_("Name for signing in"),
        max_length=60,
        help_text=_("small letters, digits, points and hyphens, such as bram.t"),
    )
    role = forms.ChoiceField(label=_("Role"), choices=ROLES)
    pin = forms.CharField(
        label=_("PIN for the tablets"),
        max_length=6,
        required=False,
        help_text=_("six digits, not all alike and not in a row"),
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    password = forms.CharField(
        label=_("Password for a desk"),
        max_length=200,
        required=False,
        help_text=_("at least 10 characters; only for those who work at a desk"),
        widget=forms.PasswordInput(render_value=True, attrs={"autocomplete": "new-password"}),
    )
    skills = forms.MultipleChoiceField(
        label=_("Skills, signed off by you today"),
        choices=SKILLS,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )


class TokenForm(forms.Form):
    """A program that may ask."""

    name = forms.CharField(label=_("What the program is called"), max_length=80)
    scopes = forms.MultipleChoiceField(
        label=_("What it may do"), choices=[], widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, rights: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["scopes"].choices = rights  # type: ignore[attr-defined]
