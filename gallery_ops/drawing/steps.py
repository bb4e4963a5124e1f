"""Versions of a layout as a waterline with steps: higher for stone, a little for plants."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gallery_ops.drawing.svg import escape, n

WIDE = 500.0
FLOOR = 80.0
MINOR, MAJOR = 12.0, 26.0
LETTER = 7.4
"""Usual width of one letter of the words below [px]."""


@dataclass(frozen=True, slots=True)
class Step:
    """One version: its number, words below, and whether it was a major one."""

    number: str
    words: str
    is_major: bool = False


def steps_svg(steps: Sequence[Step], *, label: str, after: str = "") -> str:
    """The waterline; ``after`` names the version that would come next, dashed.

    Words that would run into the next ones stand a line lower. Nothing to draw is an empty text.
    """
    if not steps:
        return ""
    rise = sum(MAJOR if step.is_major else MINOR for step in steps[1:])
    floor = FLOOR if rise <= FLOOR - 34 else rise + 34
    width = WIDE / (len(steps) + (0.45 if after else 0))
    high, path, texts, free = floor, "", [], [0.0, 0.0]
    for order, step in enumerate(steps):
        x = 2 + order * width
        if order:
            high -= MAJOR if step.is_major else MINOR
            path += f"V{n(high)}"
        else:
            path = f"M{n(x)} {n(high)}"
        path += f"H{n(x + width)}"
        at = f'x="{n(x + 3)}" y="{n(high - 9)}"'
        texts.append(f'<text class="bt" {at}>{escape(step.number)}</text>')
        row = 0 if free[0] <= x else 1
        free[row] = x + len(step.words) * LETTER
        below = floor + 22 + 19 * row
        texts.append(f'<text x="{n(x)}" y="{n(below)}">{escape(step.words)}</text>')
    end = 2 + len(steps) * width
    dashed = ""
    if after:
        dashed = f'<path class="d" d="M{n(end)} {n(high)}H{n(WIDE - 2)}"/>'
        texts.append(f'<text x="{n(end + 4)}" y="{n(high - 9)}">{escape(after)}</text>')
    return (
        f'<svg class="vers" viewBox="0 0 {n(WIDE)} {n(floor + 46)}" role="img" '
        f'aria-label="{escape(label)}"><path class="l" d="{path}"/>{dashed}{"".join(texts)}</svg>'
    )
