"""One supply twice on one axis: as it is above, if so below."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from gallery_ops.drawing.strip import Axis
from gallery_ops.drawing.svg import percent, spoken

_UPPER, _LOWER = 26, 56


@dataclass(frozen=True, slots=True)
class Range:
    """Earliest, likely, latest day, and the day to order by; None: unknown or far away."""

    earliest: date | None
    likely: date | None
    latest: date | None
    order_by: date | None


def two_strips_svg(now: Range, then: Range, axis: Axis, *, sentence: str) -> str:
    """Both ranges; the upper one dashed with an open bead."""
    out = [
        f'<line class="dl" x1="{p}" x2="{p}" y1="4" y2="{_LOWER}"/>'
        for p in (percent(axis.at(day)) for day in axis.vans)
    ]
    out += [f'<line class="base" x1="0" x2="100%" y1="{y}" y2="{y}"/>' for y in (_UPPER, _LOWER)]
    out += _range(now, axis, _UPPER, line="was", bead="hollow")
    out += _range(then, axis, _LOWER, line="end", bead="dot")
    return f'<svg class="strip" {spoken(sentence)}>{"".join(out)}</svg>'


def _range(one: Range, axis: Axis, y: int, *, line: str, bead: str) -> list[str]:
    out = []
    if one.earliest is not None and axis.at(one.earliest) <= 1:
        a = max(0.0, axis.at(one.earliest))
        b = 1.0 if one.latest is None else min(1.0, axis.at(one.latest))
        out.append(f'<line class="{line}" x1="{percent(a)}" x2="{percent(b)}" y1="{y}" y2="{y}"/>')
    for day in (one.earliest, one.latest):
        if day is not None and axis.holds(day):
            p = percent(axis.at(day))
            out.append(f'<line class="end" x1="{p}" x2="{p}" y1="{y - 7}" y2="{y + 7}"/>')
    if one.likely is not None and axis.holds(one.likely):
        out.append(f'<circle class="{bead}" cx="{percent(axis.at(one.likely))}" cy="{y}" r="5"/>')
    if one.order_by is not None and axis.at(one.order_by) <= 1:
        p = percent(max(0.0, axis.at(one.order_by)))
        out.append(
            f'<line class="by" x1="{p}" x2="{p}" y1="{y - 20}" y2="{y}"/>'
            f'<svg x="{p}" y="{y - 22}" width="16" height="14" overflow="visible">'
            '<path class="flag" d="M0 0H12L8.5 4.5L12 9H0Z"/></svg>'
        )
    return out
