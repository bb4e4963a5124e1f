"""Which rule do the full doses of a list follow?

A full dose is not kept tank by tank: it is the item's dose per litre of outer volume, to
the nearest whole millilitre. A list that names full doses says that rule, if there is one.
"""

from __future__ import annotations

from collections.abc import Iterable

from gallery_ops.fleet_file.read import FleetRow
from inventory.forecast.press import full_dose_ul

MOST_UL_PER_L = 1_000


def per_litre(rows: Iterable[FleetRow]) -> int | None:
    """The dose per litre [uL/L] that gives every full dose of the rows, the roundest of them.

    None where the rows name none, or follow no single rule.
    """
    wanted = {
        (volume, row.full_dose_ul)
        for row in rows
        if row.full_dose_ul and (volume := _outer_mm3(row))
    }
    if not wanted:
        return None
    fitting = [
        rule
        for rule in range(1, MOST_UL_PER_L + 1)
        if all(full_dose_ul(volume, rule) == dose for volume, dose in wanted)
    ]
    return max(fitting, key=_roundness, default=None)


def differing(rows: Iterable[FleetRow], rule: int) -> list[FleetRow]:
    """The rows whose full dose is not that of the rule."""
    return [
        row
        for row in rows
        if row.full_dose_ul
        and (volume := _outer_mm3(row))
        and full_dose_ul(volume, rule) != row.full_dose_ul
    ]


def _outer_mm3(row: FleetRow) -> int:
    if row.length_mm is None or row.width_mm is None or row.height_mm is None:
        return 0
    return row.length_mm * row.width_mm * row.height_mm


def _roundness(rule: int) -> int:
    return max(step for step in (1, 2, 5, 10, 50, 100) if rule % step == 0)
