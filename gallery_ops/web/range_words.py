"""What was wanted of the water when, and who set it: put into words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gallery_ops.web.words import number
from tanks.queries.range_history import OF_STYLE, SIDES, Change
from tanks.queries.readings import Ranges

SIDE_WORDS = {
    "alarm_low": gettext_lazy("alert below"),
    "alarm_high": gettext_lazy("alert above"),
    "ask_low": gettext_lazy("ask below"),
    "ask_high": gettext_lazy("ask above"),
}


@dataclass(frozen=True, slots=True)
class ShownChange:
    """One line of the history of ranges; ``sides`` are those that changed."""

    at: datetime
    name: str
    unit: str
    is_style: bool
    sides: list[tuple[str, str, str]]
    who: str
    reason: str


def shown_change(one: Change) -> ShownChange:
    """A setting with the sides that it changed: words, before, after."""
    before = one.before or {}
    order = [side for side in SIDE_WORDS if side in SIDES]
    sides = [
        (str(SIDE_WORDS[side]), _side(before.get(side)), _side(one.after.get(side)))
        for side in order
        if before.get(side) != one.after.get(side)
    ]
    return ShownChange(
        at=one.at,
        name=one.parameter.name,
        unit=one.parameter.unit_text,
        is_style=one.whose == OF_STYLE,
        sides=sides,
        who=one.who,
        reason=one.reason,
    )


def _side(value: float | None) -> str:
    return _("the usual") if value is None else number(value, 2)


def wanted_then(ranges: Ranges, unit: str) -> str:
    """What was wanted when something outside of it was read."""
    low, high = ranges.alarm_low, ranges.alarm_high
    ends = {"unit": f" {unit}" if unit else ""}
    if low is not None and high is not None:
        ends |= {"low": number(low, 2), "high": number(high, 2)}
        return _("wanted then: %(low)s to %(high)s%(unit)s") % ends
    if low is not None:
        return _("wanted then: at least %(low)s%(unit)s") % {**ends, "low": number(low, 2)}
    if high is not None:
        return _("wanted then: at most %(high)s%(unit)s") % {**ends, "high": number(high, 2)}
    return _("asks for somebody")
