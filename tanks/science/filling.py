"""How much water stands in a glass with ground, stone and wood in it?

*Net* water counts the water between the grains, *free* water does not. What dissolves reaches the
grains within days, so doses go by the net volume; what is pumped or let out is free. All lengths
are inner ones except where a name says outer.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from gallery_ops.kernel.values.limits import Limit, OutOfRange
from tanks.science.geometry import MM3_PER_L
from tanks.science.numbers import above_zero, not_negative, within

PART = Limit(0, 1)
USUAL_POROSITY = 0.40
"""Part of a heap of grains that is water, 0.35 to 0.45 (from memory)."""


@dataclass(frozen=True, slots=True)
class Glass:
    """A glass box by its outer sides and panes [mm]; open top, no braces."""

    length_mm: float
    width_mm: float
    height_mm: float
    glass_mm: float
    base_mm: float | None = None

    @property
    def inside_mm(self) -> tuple[float, float, float]:
        """Inner length, width and height [mm]. Raises OutOfRange when nothing is left."""
        base = self.glass_mm if self.base_mm is None else self.base_mm
        above_zero("Glass", "mm", self.glass_mm, "Measure the pane.")
        above_zero("Base glass", "mm", base, "Measure the pane.")
        inside = (
            self.length_mm - 2 * self.glass_mm,
            self.width_mm - 2 * self.glass_mm,
            self.height_mm - base,
        )
        for name, value in zip(("Length", "Width", "Height"), inside, strict=True):
            above_zero(f"{name} inside", "mm", value, "Check sizes and glass; all in millimetres.")
        return inside

    @property
    def inner_l(self) -> float:
        """Volume to the rim [L]."""
        length, width, height = self.inside_mm
        return length * width * height / MM3_PER_L


def water_column_l(glass: Glass, below_rim_mm: float) -> float:
    """Everything under the surface: water, ground and stone [L].

    below_rim_mm : from the rim down to the surface, 0 to the inner height [mm]

    Source: geometry.

    >>> round(water_column_l(Glass(600, 300, 360, 6), 30), 2)
    54.87
    """
    length, width, height = glass.inside_mm
    not_negative("Surface below the rim", "mm", below_rim_mm)
    if below_rim_mm >= height:
        raise OutOfRange(
            "Surface below the rim", f"less than {height:g} mm", f"{below_rim_mm:g} mm"
        )
    return length * width * (height - below_rim_mm) / MM3_PER_L


def bed_l(glass: Glass, front_mm: float, back_mm: float, below_rim_mm: float = 0.0) -> float:
    """Bulk volume of ground that slopes evenly from front to back [L].

    Raises OutOfRange when it would rise above the surface.

    Source: geometry, a prism with a trapezium as its side.

    >>> round(bed_l(Glass(600, 300, 360, 6), 40, 80), 2)
    10.16
    """
    length, width, height = glass.inside_mm
    for name, depth in (("Ground in front", front_mm), ("Ground at the back", back_mm)):
        not_negative(name, "mm", depth)
        if depth > height - below_rim_mm:
            raise OutOfRange(
                name, f"at most {height - below_rim_mm:g} mm, the surface", f"{depth:g} mm"
            )
    return length * width * (front_mm + back_mm) / 2 / MM3_PER_L


def displaced_l(mass_kg: float, kg_per_m3: float) -> float:
    """Water that a solid pushes aside [L].

    kg_per_m3 : density of the solid; stone 2,300 to 2,900 (from memory). Wood floats or drinks:
        measure the litres that it pushes aside instead.

    Source: mass / density.

    >>> round(displaced_l(10, 2700), 2)
    3.7
    """
    not_negative("Mass", "kg", mass_kg, "Weigh it.")
    above_zero("Density", "kg/m³", kg_per_m3)
    return mass_kg / kg_per_m3 * 1_000


def net_water_l(
    column_l: float, bed_l: float, porosity: float = USUAL_POROSITY, solids_l: Iterable[float] = ()
) -> float:
    """Water in the glass, that between the grains included [L].

    porosity : part of the bed that is water, 0 to 1
    solids_l : litres that stones and wood push aside

    Raises OutOfRange when the solids fill more than the column.

    Source: column - bed (1 - porosity) - solids.
    """
    within("Porosity", PART, porosity, "0.40 is usual.")
    return _left(column_l, bed_l * (1 - porosity), solids_l)


def free_water_l(column_l: float, bed_l: float, solids_l: Iterable[float] = ()) -> float:
    """Water above the ground only [L]; parameters as net_water_l."""
    return _left(column_l, bed_l, solids_l)


def _left(column_l: float, ground_l: float, solids_l: Iterable[float]) -> float:
    above_zero("Water column", "L", column_l)
    not_negative("Ground", "L", ground_l)
    solids = list(solids_l)
    for one in solids:
        not_negative("Stone or wood", "L", one)
    left = column_l - ground_l - sum(solids)
    if left < 0:
        taken = ground_l + sum(solids)
        raise OutOfRange(
            "Ground and stone", f"at most {column_l:.1f} L, the water column", f"{taken:.1f} L"
        )
    return left
