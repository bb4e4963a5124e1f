"""A file to read, and what a person says about it that it does not say itself."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from gallery_ops.fleet_file.dry_run import Wishes

SEPARATORS = [
    ("", _("as it is found")),
    (";", _("semicolon")),
    (",", _("comma")),
    ("tab", _("tab")),
    ("|", _("bar")),
]
UNITS = [("", _("as the list says")), ("cm", "cm"), ("mm", "mm")]


class FileForm(forms.Form):
    """Which file, and how it is to be read."""

    file = forms.FileField(
        label=_("List of tanks"),
        error_messages={
            "required": _("Choose a file first."),
            "empty": _("This file is empty. Bring the list with its headings."),
        },
        help_text=_("An .xlsx, .csv or tab separated file, up to 5 MB. It is only read at first."),
        widget=forms.ClearableFileInput(
            attrs={"accept": ".xlsx,.xlsm,.csv,.txt,.tsv,text/csv,text/plain"}
        ),
    )
    sheet = forms.CharField(
        label=_("Sheet"),
        required=False,
        max_length=60,
        help_text=_("Of a workbook with several; empty for the first one that holds tanks."),
    )
    separator = forms.ChoiceField(label=_("Separator"), required=False, choices=SEPARATORS)
    length_unit = forms.ChoiceField(
        label=_("Measures without a unit are in"), required=False, choices=UNITS
    )

    HOW = ("sheet", "separator", "length_unit")

    def __init__(self, *args: Any, is_here: bool = False, **kwargs: Any) -> None:
        """``is_here``: a file lies here from before, and another one may stay unchosen."""
        super().__init__(*args, **kwargs)
        self.fields["file"].required = not is_here

    def how(self) -> list[forms.BoundField]:
        """How it is to be read: seldom needed, and so folded away."""
        return [self[name] for name in self.HOW]

    @property
    def is_how_wrong(self) -> bool:
        """Must the folded part stand open?"""
        return any(self[name].errors or self[name].value() for name in self.HOW)

    def wishes(self, meanings: dict[str, str]) -> Wishes:
        """What was said, for the reader; only after the form was found valid."""
        said = self.cleaned_data
        separator = "\t" if said["separator"] == "tab" else said["separator"]
        return Wishes(said["sheet"].strip(), separator, said["length_unit"], meanings)
