"""Does a row hold what its fields and constraints allow? Says it in the words of the house."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from contextlib import contextmanager

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import models
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused


def check_row(row: models.Model, *, exclude: Collection[str] = ()) -> None:
    """Run the row's own checks. Raises Refused with a sentence per field."""
    try:
        row.full_clean(exclude=set(exclude))
    except ValidationError as error:
        raise refused(error) from None


@contextmanager
def written_in_words() -> Iterator[None]:
    """What a row's own checks refuse inside is refused in the words of the house."""
    try:
        yield
    except ValidationError as error:
        raise refused(error) from None


def refused(error: ValidationError) -> Refused:
    """Django's error as a refusal of the house; sentences of constraints stand under ""."""
    if hasattr(error, "error_dict"):
        fields = {
            ("" if name == NON_FIELD_ERRORS else name): " ".join(messages)
            for name, messages in error.message_dict.items()
        }
    else:
        fields = {"": " ".join(error.messages)}
    words = [
        text if name == "" else f"{name.replace('_', ' ').capitalize()}: {text}"
        for name, text in fields.items()
    ]
    return Refused("not_valid", " ".join(words), fields, _("Correct it and send it again."))
