"""Does a row hold what its fields and constraints allow? Says it in the words of the house.

Asking each constraint before a row is written costs a query for each, and the database asks them
all the same. So a new row is written first, and asked only where it was turned away.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from contextlib import contextmanager

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import IntegrityError, models, transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused


def check_row(row: models.Model, *, exclude: Collection[str] = ()) -> None:
    """Run the row's own checks. Raises Refused with a sentence per field."""
    try:
        row.full_clean(exclude=set(exclude))
    except ValidationError as error:
        raise refused(error) from None


def write_new(row: models.Model, *, exclude: Collection[str] = ()) -> None:
    """Save a new row of which the database asks the constraints.

    exclude : fields that are not looked at before.

    Raises
    ------
    ValidationError
        as ``full_clean`` has it, with all that is wrong with the row.
    IntegrityError
        what the database refuses and no rule of the row can explain.
    """
    try:
        row.clean_fields(exclude={*exclude, *_loaded(row)})
        row.clean()
    except ValidationError:
        row.full_clean(exclude=set(exclude))
        raise
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError:
        row.full_clean(exclude=set(exclude))
        raise


def write_row(row: models.Model, *, exclude: Collection[str] = ()) -> None:
    """The same for a service. Raises Refused with a sentence per field."""
    with written_in_words():
        write_new(row, exclude=exclude)


def _loaded(row: models.Model) -> Iterator[str]:
    """Relations to rows that are at hand and so need not be looked for."""
    for name, other in row._state.fields_cache.items():
        if other is not None and other.pk is not None and not other._state.adding:
            yield name


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
