"""A vessel that shows what is left when a van comes, what an order adds, and where it must end."""

from __future__ import annotations

from gallery_ops.drawing.svg import n, spoken

_FLOOR, _HIGH = 48.0, 42.0


def vessel_svg(left: float, add: float, cap: float | None = None, *, sentence: str = "") -> str:
    """All in the same unit, >= 0; without a sentence it stands beside its words.

    cap : level above which more would go off or not fit
    """
    left, add = max(0.0, left), max(0.0, add)
    most = max(left + add, cap or 0.0)
    scale = _HIGH / (most * 1.06) if most > 0 else 0.0
    floor = _FLOOR - left * scale
    top = floor - add * scale
    out = []
    if add * scale > 0:
        out.append(f'<path class="add" d="M4 {n(top)}H38V{n(floor)}H4Z"/>')
    if left * scale > 0:
        out.append(f'<path class="now" d="M4 {n(floor)}H38V{n(_FLOOR)}H4Z"/>')
    out.append(f'<path class="o" d="M4 2V{n(_FLOOR)}H38V2"/>')
    if cap is not None and most > 0:
        y = _FLOOR - cap * scale
        out.append(
            f'<path class="cap" d="M2 {n(y)}H46M42 {n(y - 4)}L50 {n(y + 4)}'
            f'M50 {n(y - 4)}L42 {n(y + 4)}"/>'
        )
    return f'<svg class="ves" viewBox="0 0 54 52" {spoken(sentence)}>{"".join(out)}</svg>'
