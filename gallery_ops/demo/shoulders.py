"""What is stamped on the cylinders of Undershore, and where each size stands: all invented."""

from __future__ import annotations

from datetime import date

from gallery_ops.kernel.values.quantity import Mass
from inventory.services.cylinders import NewCylinder

TARE_G = {500: 1_350, 2_000: 3_120, 5_000: 7_480, 10_000: 13_950}
HELD = {
    500: ("in the plinth", "strapped"),
    2_000: ("behind it", "chained"),
    5_000: ("recess left", "chained"),
    10_000: ("recess right, trolley only", "chained"),
}
"""Where a cylinder of so many grams stands at its tank, and how it is held."""

STORE = "cage in the yard"
"""Where those stand that wait without a regulator."""


def read_off(
    on: date,
    number: int,
    grams: int,
    left: int | None = None,
    *,
    regulator: bool = True,
    place: str = "",
) -> NewCylinder:
    """A cylinder of that size with serial, tare and stamp of its own; full, or so much [g]."""
    tested = date(on.year - 2 - number % 4, 5, 1)
    return NewCylinder(
        serial=f"QG-{number}",
        tare=Mass.g(TARE_G[grams] + number % 40),
        fill=Mass.g(grams),
        stamp=f"{tested:%Y/%m}",
        tested_on=tested,
        next_test_on=tested.replace(year=tested.year + 10),
        test_rule="typed",
        regulator=Mass.g(640) if regulator else None,
        is_exchange=grams < 5_000,
        content=Mass.g(left) if left is not None else None,
        place=place or (HELD[grams][0] if regulator else STORE),
        held_by=HELD[grams][1],
    )
