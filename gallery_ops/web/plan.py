"""The ground from above as boxes: carpet in front, stems behind, each as large as its share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gallery_ops.overview.materials_page import Area

WIDE = 600.0
LEAST_HIGH = 120.0
BEHIND = ("stems", "middle", "carpet")
"""From behind to the front."""


@dataclass(frozen=True, slots=True)
class Shown:
    """One area: a band across the ground, as deep as its share."""

    css: str
    y: float
    height: float
    middle: float
    area: Area

    @property
    def y_text(self) -> str:
        """As an attribute: always with a point."""
        return f"{self.y:g}"

    @property
    def height_text(self) -> str:
        """As an attribute."""
        return f"{self.height:g}"

    @property
    def middle_text(self) -> str:
        """Where its words stand."""
        return f"{self.middle:g}"


@dataclass(frozen=True, slots=True)
class Plan:
    """Width and height of the picture, its bands, and the share left free."""

    width: float
    height: float
    bands: tuple[Shown, ...]
    free_percent: int
    free_y: float
    free_height: float

    @property
    def attributes(self) -> dict[str, str]:
        """Numbers of the picture as attributes: always with a point."""
        return {
            "view_height": f"{self.height + 30:g}",
            "height": f"{self.height:g}",
            "below": f"{self.height + 20:g}",
            "half": f"{self.height / 2 + 5:g}",
            "free_y": f"{self.free_y:g}",
            "free_height": f"{self.free_height:g}",
            "free_middle": f"{self.free_y + self.free_height / 2 + 5:g}",
        }


def plan_areas(areas: Sequence[Area], inner_cm: tuple[float, float]) -> Plan:
    """Bands by share, plants behind first; what is left is stone, wood and open ground."""
    length, width = inner_cm
    high = max(LEAST_HIGH, WIDE * width / length)
    order = {part: n for n, part in enumerate(BEHIND)}
    rows = sorted(areas, key=lambda one: order.get(one.part, 1))
    free = max(0, 100 - sum(one.percent for one in rows))
    y, bands = 0.0, []
    free_y = 0.0
    for n, one in enumerate(rows):
        if one.part == "carpet" and free and not free_y and n == len(rows) - 1:
            free_y, y = y, y + high * free / 100
        height = high * one.percent / 100
        css = {"carpet": "a1", "middle": "a2", "stems": "a3"}.get(one.part, "a2")
        bands.append(Shown(css, round(y, 1), round(height, 1), round(y + height / 2 + 5, 1), one))
        y += height
    if not free_y:
        free_y = y
    return Plan(
        WIDE, round(high, 1), tuple(bands), free, round(free_y, 1), round(high * free / 100, 1)
    )
