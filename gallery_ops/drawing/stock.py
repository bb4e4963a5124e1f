"""Two small pictures of stock: how full a container is, and what was given day by day."""

from collections.abc import Sequence

from gallery_ops.drawing.svg import n, percent, spoken

_HIGH, _WIDE = 42.0, 22.0
_FLOOR, _TOP = 44.0, 6.0


def gauge_svg(
    part: float, *, unusable: float = 0.0, is_guess: bool = False, sentence: str = ""
) -> str:
    """An open vessel filled to a part of full; what cannot be used is under a line at its foot.

    part, unusable : 0 to 1 of full
    is_guess : never measured, drawn dashed and empty
    """
    full = min(1.0, max(0.0, part))
    level = _HIGH * full
    out = []
    if full and not is_guess:
        out.append(
            f'<rect class="tank-f" x="3" y="{n(3 + _HIGH - level)}" width="{n(_WIDE - 6)}" '
            f'height="{n(level)}"/>'
        )
    if 0 < unusable < 1:
        y = n(3 + _HIGH * (1 - unusable))
        out.append(f'<line class="left" x1="0" x2="{n(_WIDE)}" y1="{y}" y2="{y}"/>')
    dashes = ' stroke-dasharray="3 2.4"' if is_guess else ""
    out.append(f'<path class="tank-o"{dashes} d="M2 2V{n(4 + _HIGH)}H{n(_WIDE - 2)}V2"/>')
    box = f'viewBox="0 0 {n(_WIDE)} {n(_HIGH + 6)}"'
    return f'<svg class="gauge" {box} {spoken(sentence)}>{"".join(out)}</svg>'


def use_days_svg(given: Sequence[float], planned: Sequence[float], *, sentence: str = "") -> str:
    """What was given on each day as a column of water, and what the plan asked as a short line.

    given, planned : of the same days, oldest first, in the same unit
    """
    most = max([*given, *planned, 0.0]) or 1.0
    wide = 1 / max(1, len(given))
    out = [f'<line class="s" x1="0" x2="100%" y1="{n(_FLOOR)}" y2="{n(_FLOOR)}"/>']
    for i, (gave, asked) in enumerate(zip(given, planned, strict=True)):
        left, right = percent((i + 0.15) * wide), percent((i + 0.85) * wide)
        if gave > 0:
            high = (_FLOOR - _TOP) * gave / most
            out.append(
                f'<rect class="f" x="{left}" y="{n(_FLOOR - high)}" width="{percent(0.7 * wide)}" '
                f'height="{n(high)}"/>'
            )
        if asked > 0:
            y = n(_FLOOR - (_FLOOR - _TOP) * asked / most)
            out.append(f'<line class="l" x1="{left}" x2="{right}" y1="{y}" y2="{y}"/>')
    return f'<svg class="use use-days" {spoken(sentence)}>{"".join(out)}</svg>'
