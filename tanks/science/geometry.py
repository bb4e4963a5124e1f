"""How much water is in a glass box? Three volumes, kept apart.

*Outer* is what a label prints, *inner* is what fits between the panes up to the rim, *working* is
the water at its working level with ground and stone in it. Dosing tables mean the first, medicines
and water changes the last; a number always says which one it used.
"""

from __future__ import annotations

from dataclasses import dataclass

from gallery_ops.kernel.values.limits import OutOfRange

WORKING_SHARE = 0.80
"""Working volume as a share of the outer one until a filling was measured (common practice, no
source)."""

MM3_PER_L = 1_000_000


@dataclass(frozen=True, slots=True)
class Volumes:
    """The three volumes of one glass [L]."""

    outer_l: float
    inner_l: float
    working_l: float


def outer_volume_l(length_mm: int, width_mm: int, height_mm: int) -> float:
    """Volume of the outer dimensions [L].

    Parameters
    ----------
    length_mm, width_mm, height_mm : outer dimensions, > 0 [mm]

    Raises
    ------
    OutOfRange
        when a dimension is not above 0.

    Source: geometry, no reference needed.

    >>> outer_volume_l(600, 300, 360)
    64.8
    """
    for name, value in (("Length", length_mm), ("Width", width_mm), ("Height", height_mm)):
        if value <= 0:
            raise OutOfRange(name, "more than 0 mm", f"{value} mm", "Measure the outside.")
    return length_mm * width_mm * height_mm / MM3_PER_L


def inner_volume_l(
    length_mm: int, width_mm: int, height_mm: int, glass_mm: int, base_mm: int | None = None
) -> float:
    """Volume between the panes up to the rim, open top [L].

    Parameters
    ----------
    length_mm, width_mm, height_mm : outer dimensions, > 0 [mm]
    glass_mm : thickness of the four side panes, > 0 [mm]
    base_mm : thickness of the base pane; as the sides when None [mm]

    Raises
    ------
    OutOfRange
        when the panes leave no room between them.

    Source: geometry, no reference needed.

    >>> round(inner_volume_l(600, 300, 360, 6), 2)
    59.95
    """
    base = glass_mm if base_mm is None else base_mm
    if glass_mm <= 0 or base <= 0:
        raise OutOfRange("Glass", "more than 0 mm", f"{min(glass_mm, base)} mm")
    inside = (length_mm - 2 * glass_mm, width_mm - 2 * glass_mm, height_mm - base)
    if min(inside) <= 0:
        raise OutOfRange(
            "Glass",
            "less than half of the shortest side",
            f"{glass_mm} mm",
            "Check whether the sizes are in millimetres.",
        )
    return inside[0] * inside[1] * inside[2] / MM3_PER_L


def working_volume_l(outer_l: float) -> float:
    """Water at the working level, as 0.80 of the outer volume [L].

    Source: common practice, no source.

    >>> round(working_volume_l(64.8), 2)
    51.84
    """
    return outer_l * WORKING_SHARE


def volumes(
    length_mm: int, width_mm: int, height_mm: int, glass_mm: int, base_mm: int | None = None
) -> Volumes:
    """All three volumes of one glass [L]; parameters and errors as above.

    >>> volumes(600, 300, 360, 6).outer_l
    64.8
    """
    outer_l = outer_volume_l(length_mm, width_mm, height_mm)
    return Volumes(
        outer_l=outer_l,
        inner_l=inner_volume_l(length_mm, width_mm, height_mm, glass_mm, base_mm),
        working_l=working_volume_l(outer_l),
    )


def working_volume_ul(length_mm: int, width_mm: int, height_mm: int) -> int:
    """Working volume in whole microlitres, exact: 0.80 of outer, where 1 mm3 is 1 uL.

    >>> working_volume_ul(600, 300, 360)
    51840000
    """
    return length_mm * width_mm * height_mm * 4 // 5
