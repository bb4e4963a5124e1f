"""Sizes of a glass as somebody types them: outer sizes in centimetres, the glass in millimetres."""

from __future__ import annotations

from collections.abc import Mapping

from gallery_ops.web.forms.numbers import whole_or_decimal

SIZES = (("length", 10), ("width", 10), ("height", 10), ("glass", 1))
"""Fields of a glass, and millimetres in one of their units."""


def sizes_mm(typed: Mapping[str, str]) -> tuple[int, int, int, int]:
    """Outer length, width and height, and the glass [mm]; 0 where nothing was typed.

    Raises Refused for what is no number.
    """
    length, width, height, glass = (
        round((whole_or_decimal(typed.get(name, ""), name) or 0) * times) for name, times in SIZES
    )
    return length, width, height, glass
