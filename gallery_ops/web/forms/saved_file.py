"""Which saved outbox comes in?"""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class SavedFileForm(forms.Form):
    """One file, as the tablet saved it."""

    file = forms.FileField(
        label=_("Saved outbox"),
        error_messages={
            "required": _("Choose a file first."),
            "empty": _("This file is empty. Save it on the tablet once more."),
        },
        help_text=_("A .json file as the tablet saved it, up to 2 MB."),
        widget=forms.ClearableFileInput(attrs={"accept": ".json,application/json"}),
    )
