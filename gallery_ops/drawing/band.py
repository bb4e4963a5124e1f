"""Readings of one parameter: points on the tank's own median and target band.

Never a line between points: two methods do not make a curve.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from gallery_ops.drawing.svg import n, spoken

FEWEST = 4
_HIGH = 48.0
_EDGE = 6.0


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading: at is its part of the time axis (0 oldest, 1 now)."""

    at: float
    value: float


def band_svg(
    readings: Sequence[Reading],
    *,
    target: tuple[float, float] | None = None,
    events: Sequence[float] = (),
    sentence: str = "",
) -> str:
    """Points, last one larger; dashed the own median, shaded the target.

    target : lowest and highest wanted value, or None
    events : parts of the axis at which something was changed, as verticals
    """
    low, high = _span(readings, target)

    def y(value: float) -> str:
        part = (value - low) / (high - low)
        return n(_HIGH - _EDGE - part * (_HIGH - 2 * _EDGE))

    out = []
    if target is not None:
        top, bottom = float(y(target[1])), float(y(target[0]))
        out.append(
            f'<rect class="tgt" x="0" width="100%" y="{n(top)}" height="{n(bottom - top)}"/>'
        )
    for at in events:
        place = f"{at * 100:.1f}%"
        out.append(f'<line class="ev" x1="{place}" x2="{place}" y1="0" y2="{n(_HIGH)}"/>')
    if len(readings) >= FEWEST:
        middle = y(median(r.value for r in readings))
        out.append(f'<line class="med" x1="0" x2="100%" y1="{middle}" y2="{middle}"/>')
    for i, r in enumerate(readings):
        css, size = ("last", 5) if i == len(readings) - 1 else ("pt", 3)
        place = f"{4 + 92 * min(1.0, max(0.0, r.at)):.1f}%"
        out.append(f'<circle class="{css}" cx="{place}" cy="{y(r.value)}" r="{size}"/>')
    return f"<svg {spoken(sentence)}>{''.join(out)}</svg>"


def _span(readings: Sequence[Reading], target: tuple[float, float] | None) -> tuple[float, float]:
    values = [r.value for r in readings] + list(target or ())
    if not values:
        return 0.0, 1.0
    low, high = min(values), max(values)
    room = (high - low) * 0.25 or max(abs(high) * 0.1, 0.5)
    return low - room, high + room
