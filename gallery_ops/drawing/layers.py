"""The ground under a layout, cut from front to back."""

from __future__ import annotations

from collections.abc import Sequence

from gallery_ops.drawing.svg import escape, n

WIDE = 100.0
HIGH = 24.0
STEPS = 8
CLASSES = ("l3", "l2", "l1")
"""Looks of the layers from below upwards; a fourth begins again."""


def layers_svg(layers: Sequence[tuple[int, int]], *, label: str = "") -> str:
    """The cross-section, the front glass at the right.

    layers : depth in front and behind of each layer, from below upwards [mm], each >= 0
    label : read out; without one the drawing is decoration beside its caption

    The deepest point takes three quarters of the height. Nothing to draw gives an empty text.
    """
    most = max(sum(front for front, _ in layers), sum(back for _, back in layers), 0)
    if most == 0:
        return ""
    scale = 0.75 * HIGH / most
    foot = [0.0] * (STEPS + 1)
    out = []
    for order, (front, back) in enumerate(layers):
        top = [low + scale * _depth(front, back, i / STEPS) for i, low in enumerate(foot)]
        points = [f"{n(WIDE * i / STEPS)} {n(HIGH - y)}" for i, y in enumerate(top)]
        points += [
            f"{n(WIDE * i / STEPS)} {n(HIGH - y)}" for i, y in reversed(list(enumerate(foot)))
        ]
        out.append(f'<path class="{CLASSES[order % 3]}" d="M{"L".join(points)}Z"/>')
        foot = top
    named = (
        f'role="img" aria-label="{escape(label)}"'
        if label
        else 'aria-hidden="true" focusable="false"'
    )
    return f'<svg class="layers" viewBox="0 0 {n(WIDE)} {n(HIGH)}" {named}>{"".join(out)}</svg>'


def _depth(front: int, back: int, part: float) -> float:
    """Depth at a part of the way from behind to the front: level at both ends, a slope between."""
    eased = part * part * (3 - 2 * part)
    return back + (front - back) * eased
