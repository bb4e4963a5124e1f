"""A bottle, can, tub, bag, box or cylinder from the front, filled to its level.

The body has straight walls, so a level is a height. One look for all: outline in ink, content with
its line like the water of a tank; a level that nobody measured is drawn with a dashed line.
"""

from __future__ import annotations

from dataclasses import dataclass

from gallery_ops.drawing.svg import n, spoken


@dataclass(frozen=True, slots=True)
class _Shape:
    """Outline, the parts that stand on it, and the box of the content."""

    outline: str
    more: str
    left: float
    right: float
    top: float
    bottom: float


_SHAPES = {
    "bottle": _Shape(
        "M14 34Q14 28 20 26L23 24V18H37V24L40 26Q46 28 46 34V86Q46 88 44 88H16Q14 88 14 86Z",
        "M25 18V12H35V18M30 12V6M30 6H17V9",
        14, 46, 32, 88,
    ),
    "can": _Shape(
        "M8 32Q8 28 12 28H48Q52 28 52 32V86Q52 88 50 88H10Q8 88 8 86Z",
        "M13 28V20H36V28M42 28V22H50V28",
        8, 52, 34, 88,
    ),
    "tub": _Shape(
        "M10 46H50V86Q50 88 48 88H12Q10 88 10 86Z",
        "M7 46V39H53V46Z",
        10, 50, 50, 88,
    ),
    "bag": _Shape(
        "M14 30H46L50 84Q50 88 46 88H14Q10 88 10 84Z",
        "M14 30V22H46V30M14 26H46",
        12, 48, 38, 88,
    ),
    "box": _Shape(
        "M10 40H50V88H10Z",
        "M10 40L3 30M50 40L57 30M10 40L16 34M50 40L44 34",
        10, 50, 44, 88,
    ),
    "cylinder": _Shape(
        "M16 34Q16 22 26 20H34Q44 22 44 34V84Q44 88 40 88H20Q16 88 16 84Z",
        "M27 20V13H33V20M22 10H38V13H22ZM30 10V5",
        16, 44, 30, 88,
    ),
}  # fmt: skip
_REGULATOR = "M33 15H41M41 10H51V20H41ZM46 20V28"


def container_svg(
    kind: str,
    full: float | None,
    *,
    regulator: bool = False,
    css: str = "vessel",
    sentence: str = "",
) -> str:
    """A container of that kind, filled to a part of full.

    Parameters
    ----------
    kind : bottle, can, tub, bag, box or cylinder; anything else is drawn as a tub
    full : 0 to 1, None where the level is not known
    sentence : read out; silent when it stands in words beside it
    """
    shape = _SHAPES.get(kind, _SHAPES["tub"])
    out = []
    if full is not None:
        part = min(1.0, max(0.0, full))
        high = (shape.bottom - shape.top) * part
        top = shape.bottom - high
        if high > 0:
            out.append(
                f'<rect class="v-in" x="{n(shape.left)}" y="{n(top)}" '
                f'width="{n(shape.right - shape.left)}" height="{n(high)}"/>'
                f'<path class="v-lv" d="M{n(shape.left)} {n(top)}H{n(shape.right)}"/>'
            )
    else:
        middle = (shape.top + shape.bottom) / 2
        out.append(f'<path class="v-un" d="M{n(shape.left)} {n(middle)}H{n(shape.right)}"/>')
    more = shape.more + (_REGULATOR if regulator and kind == "cylinder" else "")
    out.append(f'<path class="v-o" d="{shape.outline}"/><path class="v-m" d="{more}"/>')
    return f'<svg class="{css}" viewBox="0 0 60 90" {spoken(sentence)}>{"".join(out)}</svg>'
