"""A number as somebody types it: decimal comma or point, no unit."""

from __future__ import annotations

import math

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused

LONGEST = 20


def whole_or_decimal(text: str, field: str) -> float | None:
    """The number; None where nothing was typed.

    Raises
    ------
    Refused
        ``no_number`` for what is none; thousands marks are none.
    """
    plain = text.strip()
    if not plain:
        return None
    try:
        number = float(plain.replace(",", ".")) if len(plain) <= LONGEST else math.nan
    except ValueError:
        number = math.nan
    if math.isfinite(number) and "_" not in plain:
        return number
    raise Refused(
        "no_number",
        _("“%(text)s” is no number.") % {"text": plain[:LONGEST]},
        {field: _("A number such as 0,5 or 0.5.")},
        _("Type the number without its unit and without marks between thousands."),
    )
