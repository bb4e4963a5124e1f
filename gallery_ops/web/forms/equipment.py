"""A piece of equipment as it comes out of its form."""

from __future__ import annotations

import re
from collections.abc import Mapping

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.web.forms.numbers import whole_or_decimal
from tanks.services.equipment import ALLOWED

TIMES = ("on_h", "off_h")
WORDS = ("serial", "socket", "circuit", "spares")
_CLOCK = re.compile(r"([01]?\d|2[0-4])[:.]([0-5]\d)")


def figures_of(kind: str, typed: Mapping[str, str]) -> dict[str, float]:
    """The figures that were typed, of those that this kind has. Raises Refused naming a field."""
    found: dict[str, float] = {}
    for key in ALLOWED.get(kind, {}):
        text = typed.get(key, "")
        value = hour_of(text, key) if key in TIMES else whole_or_decimal(text, key)
        if value is not None:
            found[key] = value
    if "on_h" in found and "off_h" in found and kind == "light":
        found["hours_per_day"] = (found["off_h"] - found["on_h"]) % 24 or 24
    return found


def words_of(typed: Mapping[str, str]) -> dict[str, str]:
    """Serial, socket, circuit, spares."""
    return {key: typed.get(key, "") for key in WORDS}


def hour_of(text: str, field: str) -> float | None:
    """A time of the clock as a decimal hour; empty is none.

    >>> hour_of("10:30", "on_h")
    10.5
    """
    plain = text.strip()
    if not plain:
        return None
    match = _CLOCK.fullmatch(plain)
    if match is None:
        raise Refused(
            "no_time",
            _("“%(text)s” is no time of the clock.") % {"text": plain[:20]},
            {field: _("Such as 10:30.")},
        )
    return int(match[1]) + int(match[2]) / 60


def clock_of(hour: float | None) -> str:
    """A decimal hour as a time of the clock.

    >>> clock_of(10.5)
    '10:30'
    """
    if hour is None:
        return ""
    minutes = round(hour * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
