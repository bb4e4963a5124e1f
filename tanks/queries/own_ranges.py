"""Which ranges hold for a tank, and which of them are its own or its style's?"""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Q

from tanks.models import Parameter, ParameterRange, Tank
from tanks.queries.reading_sheet import ON_A_SHEET
from tanks.queries.readings import Ranges, merged


@dataclass(frozen=True, slots=True)
class Holding:
    """One parameter: the ranges in force, and the rows that made them so."""

    parameter: Parameter
    ranges: Ranges
    of_style: ParameterRange | None
    of_tank: ParameterRange | None


def holding(tank: Tank, style: str) -> list[Holding]:
    """Every number on the sheet of this tank, in two queries."""
    own: dict[tuple[int, bool], ParameterRange] = {
        (row.parameter_id, row.tank_id is not None): row
        for row in ParameterRange.objects.of(tank.showroom).filter(
            Q(tank=tank) | Q(tank=None, style=style)
        )
    }
    rows = {row.key: row for row in Parameter.objects.filter(key__in=ON_A_SHEET, kind="number")}
    found = []
    for key in ON_A_SHEET:
        if (row := rows.get(key)) is not None:
            of_style, of_tank = own.get((row.pk, False)), own.get((row.pk, True))
            found.append(Holding(row, merged(row, of_style, of_tank), of_style, of_tank))
    return found
