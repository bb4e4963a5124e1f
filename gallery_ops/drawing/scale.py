"""One estimate on a line: its range, its likely value, and what it is compared with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from gallery_ops.drawing.svg import escape, n, percent, spoken

_GROUND = 80
_WORDS = 46
LEAST = 1e-6
"""A line is never shorter than this."""


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch that is aimed at, and its words."""

    low: float
    high: float
    words: str


@dataclass(frozen=True, slots=True)
class Mark:
    """One value of the line and its words."""

    at: float
    words: str


@dataclass(frozen=True, slots=True)
class Scale:
    """What stands on the line; nothing but the end of the line and its unit must be there.

    top : where the line ends, see :func:`top_of`
    likely : the bead; beads : open ones beside it, with words
    low, high : posts of the range
    target, limit : what is aimed at, and what should not be passed
    under : words below the ticks
    """

    top: float
    unit: str
    likely: Mark | None = None
    low: float | None = None
    high: float | None = None
    target: Band | None = None
    limit: Mark | None = None
    beads: Sequence[Mark] = ()
    under: Sequence[Mark] = ()


def top_of(values: Sequence[float]) -> float:
    """A round end for a line that shows all of these with room to spare.

    >>> top_of([36, 51, 30]), top_of([0.13])
    (60.0, 0.15)
    """
    most = max([*values, LEAST]) * 1.08
    step = tick_of(most)
    top = step * (floor(most / step) + 1)
    step = tick_of(top)  # a longer line may have larger ticks; it ends on one of them
    return round(step * ceil(round(top / step, 6)), 9)


def tick_of(top: float) -> float:
    """A round step that gives four to eight ticks.

    >>> tick_of(60), tick_of(0.15)
    (10.0, 0.05)
    """
    power = 10.0 ** floor(log10(top))
    for step in (0.1, 0.2, 0.5, 1.0, 2.0):
        if top / (step * power) <= 7:
            return round(step * power, 9)
    return power


def scale_svg(scale: Scale, sentence: str, number: Sequence[str]) -> str:
    """The line; ``number`` holds the words of each tick, as :func:`ticks` counts them."""
    parts = [*_compared(scale), *_ticks(scale, number), *_range(scale)]
    parts += [
        f'<text x="{_x(scale, word.at)}" y="126" text-anchor="middle">{escape(word.words)}</text>'
        for word in scale.under
        if 0.03 * scale.top <= word.at <= 0.97 * scale.top
    ]
    return f'<svg class="scale" {spoken(sentence)}>{"".join(parts)}</svg>'


def ticks(top: float) -> list[float]:
    """Values of the ticks, both ends included."""
    step = tick_of(top)
    return [round(step * i, 9) for i in range(round(top / step) + 1)]


def _x(scale: Scale, value: float) -> str:
    return percent(_part(scale, value))


def _part(scale: Scale, value: float) -> float:
    return min(1.0, max(0.0, value / scale.top))


def _beside(scale: Scale, at: float, y: int, words: str) -> str:
    """Words beside a value, on the side that has room."""
    before = _part(scale, at) > 0.5
    side = 'x="-8" text-anchor="end"' if before else 'x="8"'
    return (
        f'<svg x="{_x(scale, at)}" y="0" overflow="visible">'
        f'<text y="{y}" {side}>{escape(words)}</text></svg>'
    )


def _compared(scale: Scale) -> list[str]:
    """Shapes first, then their words, so that no line runs through a word."""
    shapes, said = [], []
    target, limit = scale.target, scale.limit
    if target is not None and target.low < scale.top:
        left, right = _part(scale, target.low), _part(scale, target.high)
        shapes.append(
            f'<rect class="tgt" x="{percent(left)}" y="34" width="{percent(right - left)}" '
            f'height="{_GROUND - 34}"/>'
        )
        middle = (left + right) / 2
        edge = target.low if middle <= 0.5 else min(target.high, scale.top)
        said.append(_beside(scale, edge, 29, target.words))
    if limit is not None and limit.at <= scale.top:
        x = _x(scale, limit.at)
        shapes.append(f'<line class="lim" x1="{x}" x2="{x}" y1="2" y2="{_GROUND}"/>')
        said.append(_beside(scale, limit.at, 11, limit.words))
    return [*shapes, *said]


def _ticks(scale: Scale, number: Sequence[str]) -> list[str]:
    out = [f'<line class="g" x1="0" x2="100%" y1="{_GROUND}" y2="{_GROUND}"/>']
    values = ticks(scale.top)
    for i, (value, words) in enumerate(zip(values, number, strict=True)):
        x = _x(scale, value)
        anchor = "start" if i == 0 else "end" if i == len(values) - 1 else "middle"
        said = f"{words} {scale.unit}".strip() if i == 0 else words
        out.append(
            f'<line class="g" x1="{x}" x2="{x}" y1="{_GROUND}" y2="{_GROUND + 6}"/>'
            f'<text x="{x}" y="104" text-anchor="{anchor}">{escape(said)}</text>'
        )
    return out


def _range(scale: Scale) -> list[str]:
    out = []
    if scale.low is not None and scale.high is not None:
        left, right = _part(scale, scale.low), _part(scale, scale.high)
        out.append(
            f'<rect class="fan" x="{percent(left)}" y="58" width="{percent(right - left)}" '
            f'height="{_GROUND - 58}"/>'
        )
        for value in (scale.low, scale.high):
            x = _x(scale, value)
            out.append(f'<line class="e" x1="{x}" x2="{x}" y1="54" y2="88"/>')
    for bead in scale.beads:
        x = _x(scale, bead.at)
        out.append(f'<circle class="b hollow" cx="{x}" cy="{_GROUND}" r="6"/>')
        out.append(
            f'<text x="{x}" y="{_WORDS + 14}" text-anchor="middle">{escape(bead.words)}</text>'
        )
    if scale.likely is not None:
        x, part = _x(scale, scale.likely.at), _part(scale, scale.likely.at)
        anchor = "start" if part < 0.08 else "end" if part > 0.92 else "middle"
        out.append(f'<circle class="b" cx="{x}" cy="{n(_GROUND)}" r="7"/>')
        out.append(
            f'<text class="bt" x="{x}" y="{_WORDS + 4}" text-anchor="{anchor}">'
            f"{escape(scale.likely.words)}</text>"
        )
    return out
