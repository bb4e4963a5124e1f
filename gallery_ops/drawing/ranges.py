"""What can be, what is asked about and what is wanted of one parameter, one inside the other."""

from gallery_ops.drawing.svg import percent

Sides = tuple[float | None, float | None]


def range_svg(hard: Sides, ask: Sides, wanted: Sides) -> str:
    """Three bars on one axis, silent: the words stand beside it.

    The axis ends a little beyond what is asked about, so that the wanted part can be seen; an open
    side runs to its end.
    """
    known = [side for side in (*ask, *wanted) if side is not None]
    if not known:
        return ""
    low, high = min(known), max(known)
    more = (high - low) * 0.25 or abs(high) * 0.5 or 1.0
    begin = low - more if hard[0] is None else max(hard[0], low - more)
    end = high + more if hard[1] is None else min(hard[1], high + more)
    if ask[0] is None and wanted[0] is None and hard[0] is not None:
        begin = hard[0]

    def bar(css: str, sides: Sides, y: int, height: int) -> str:
        left = (begin if sides[0] is None else sides[0]) - begin
        right = (end if sides[1] is None else sides[1]) - begin
        whole = end - begin or 1.0
        return (
            f'<rect class="{css}" x="{percent(left / whole)}" y="{y}"'
            f' width="{percent(max(0.0, right - left) / whole)}" height="{height}"/>'
        )

    inner = bar("wanted", wanted, 2, 18) if any(side is not None for side in wanted) else ""
    return (
        '<svg class="rd-bar" aria-hidden="true">'
        '<line class="can" x1="0" x2="100%" y1="11" y2="11"/>'
        f"{bar('ask', ask, 7, 8)}{inner}</svg>"
    )


def part_svg(part: float, border: float) -> str:
    """A part of a whole as a bar in its frame, silent, with a border that it should keep above."""
    full = percent(max(0.0, min(1.0, part)))
    return (
        '<svg aria-hidden="true"><rect class="clean" x="1" y="1" width="99%" height="18"/>'
        f'<rect class="now" x="0" y="4" width="{full}" height="12"/>'
        f'<line class="half" x1="{percent(border)}" x2="{percent(border)}" y1="0" y2="20"/></svg>'
    )
