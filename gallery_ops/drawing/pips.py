"""A vessel a piece: what came, what came broken, what came instead, what is still to come."""

from __future__ import annotations

from dataclasses import dataclass

STEP, HEIGHT, ROW = 26, 28, 10
MOST = 30
"""More pieces than that are drawn as one wide vessel."""
WIDE = 234


@dataclass(frozen=True, slots=True)
class Pips:
    """How many pieces of a line are what."""

    came: int = 0
    broken: int = 0
    instead: int = 0
    to_come: int = 0
    not_wanted: int = 0

    @property
    def all(self) -> int:
        """All pieces."""
        return self.came + self.broken + self.instead + self.to_come + self.not_wanted


def pips_svg(pips: Pips) -> str:
    """The vessels of a line, in rows of ten; silent, since the words stand beside them."""
    if not pips.all:
        return ""
    if pips.all > MOST:
        return _wide(pips)
    kinds = (
        ["came"] * pips.came
        + ["instead"] * pips.instead
        + ["broken"] * pips.broken
        + ["to_come"] * pips.to_come
        + ["not_wanted"] * pips.not_wanted
    )
    rows = (len(kinds) + ROW - 1) // ROW
    width, height = STEP * min(len(kinds), ROW), HEIGHT * rows
    parts = [
        f'<g transform="translate({STEP * (n % ROW)} {HEIGHT * (n // ROW)})">{_PIECE[kind]}</g>'
        for n, kind in enumerate(kinds)
    ]
    return _svg(width, height, "".join(parts))


_VESSEL = '<path class="o" d="M2 3V24H20V3"/>'
_PIECE = {
    "came": f'<path class="f" d="M2 9H20V24H2Z"/>{_VESSEL}',
    "instead": '<path class="f" d="M2 9H11V24H2Z"/><path class="o" d="M2 3V24H20V3M11 3V24"/>',
    "broken": '<path class="o" d="M2 3V24H20V3M0 26L22 1"/>',
    "to_come": '<path class="o d" d="M2 3V24H20V3"/>',
    "not_wanted": '<path class="o thin" d="M2 24H20M6 12L16 20M16 12L6 20"/>',
}


def _wide(pips: Pips) -> str:
    """One vessel as wide as nine: filled as far as it came, dashed where something is to come."""
    here = WIDE * (pips.came + pips.instead) / pips.all
    dash = " d" if pips.to_come else ""
    return _svg(
        WIDE + 4,
        HEIGHT,
        f'<path class="f" d="M2 9H{2 + here:.1f}V24H2Z"/>'
        f'<path class="o{dash}" d="M2 3V24H{WIDE + 2}V3"/>',
    )


def _svg(width: int, height: int, inside: str) -> str:
    return (
        f'<svg class="rpips" width="{width}" height="{height}" viewBox="0 0 {width} {height}" '
        f'aria-hidden="true" focusable="false">{inside}</svg>'
    )
