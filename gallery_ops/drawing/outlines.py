"""Outlines to scale in walking order: what a spreadsheet would bring in."""

from collections.abc import Sequence
from dataclasses import dataclass

from gallery_ops.drawing.svg import escape, n

_GAP = 14.0


@dataclass(frozen=True, slots=True)
class Outline:
    """One row of a spreadsheet as a glass.

    length_mm, height_mm : 0 when the row does not say; drawn as a middling glass
    fate : "new", "changed", "same" or "refused"
    """

    code: str
    length_mm: int
    height_mm: int
    fate: str = "new"


def outlines_length(rows: Sequence[Outline]) -> float:
    """Length of a floor with these outlines [cm of the drawing]."""
    return sum(max((row.length_mm or 600) / 10, 38.0) + _GAP for row in rows) - _GAP


def outlines(rows: Sequence[Outline], *, label: str, letters: int = 24, length: float = 0.0) -> str:
    """All outlines on one floor: refused dashed and struck, changed with a waterline.

    length : floor of at least this length, so that several floors share one scale
    """
    sizes = [((r.length_mm or 600) / 10, (r.height_mm or 360) / 10) for r in rows]
    floor = max([78.0, *(high + 8 for _, high in sizes)])
    x, out = 0.0, []
    for row, (long, high) in zip(rows, sizes, strict=True):
        slot = max(long, 38.0)
        left = x + (slot - long) / 2
        right, top = left + long, floor - high
        refused = row.fate == "refused"
        out.append(
            f'<path class="bare{" no" if refused else ""}" '
            f'd="M{n(left)} {n(top)}V{n(floor)}H{n(right)}V{n(top)}"/>'
        )
        if refused:
            out.append(
                f'<path class="x" d="M{n(left - 4)} {n(floor + 6)}L{n(right + 4)} {n(top - 6)}"/>'
            )
        elif row.fate == "changed":
            out.append(f'<path class="chg" d="M{n(left + 3)} {n(top + 12)}H{n(right - 3)}"/>')
        elif row.fate == "same":
            out.append(
                f'<path class="sm" d="M{n(left + 3)} {n(floor - high / 2)}H{n(right - 3)}"/>'
            )
        bold = ' class="bt"' if refused else ""
        short = row.code[1:] if len(row.code) > 2 and row.code[1:].isdigit() else row.code
        out.append(
            f'<text{bold} x="{n(x + slot / 2)}" y="{n(floor + letters + 10)}">'
            f"{escape(short)}</text>"
        )
        x += slot + _GAP
    wide = max(x - _GAP, length, 1.0)
    return (
        f'<svg class="imp-wall" viewBox="-8 -4 {n(wide + 16)} {n(floor + letters + 20)}" '
        f'role="img" aria-label="{escape(label)}">'
        f'<path class="floor" d="M-8 {n(floor)}H{n(wide + 8)}"/>'
        f"{''.join(out)}</svg>"
    )
