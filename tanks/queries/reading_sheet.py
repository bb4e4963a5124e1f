"""What may be read in a tank, and what was read of each last, for somebody who writes it down."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tanks.models import Parameter, Reading, Tank
from tanks.queries.readings import Ranges, all_ranges, latest_readings
from tanks.science.bases import COUNTED_AS, SHOWN

ON_A_SHEET = (
    "temperature",
    "ph",
    "kh",
    "gh",
    "ammonia_n",
    "nitrite",
    "nitrate",
    "phosphate",
    "conductivity",
    "drop_checker",
)
"""What is measured in the water; all else is looked at on a round."""


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One parameter, the ranges that hold here, and its last reading as a hint."""

    parameter: Parameter
    ranges: Ranges
    last: Reading | None

    @property
    def ways(self) -> list[tuple[str, str]]:
        """How a kit may count it, with the words; empty where there is one way only."""
        return [(way, SHOWN[way]) for way in COUNTED_AS.get(self.parameter.key, ())]


def sheet(tank: Tank, style: str) -> list[SheetLine]:
    """The lines of a test of this tank; four queries."""
    last = latest_readings(tank.showroom, [tank.pk])
    return [
        SheetLine(parameter, ranges, last.get((tank.pk, parameter.key)))
        for parameter, ranges in of_tank(tank, style, ON_A_SHEET)
    ]


def of_tank(tank: Tank, style: str, keys: Iterable[str]) -> list[tuple[Parameter, Ranges]]:
    """Parameters of these keys with the ranges that hold for one tank, in two queries."""
    found = all_ranges(tank.showroom, {tank.pk: style})
    return [found[(tank.pk, key)] for key in keys if (tank.pk, key) in found]


def alarms_of(readings: Iterable[Reading], lines: Iterable[SheetLine]) -> list[str]:
    """Names of those that lie in their range of alarm."""
    ranges = {line.parameter.key: line for line in lines}
    return [
        row.parameter.name
        for row in readings
        if (line := ranges.get(row.parameter.key)) is not None and is_alarming(row, line.ranges)
    ]


def is_alarming(row: Reading, ranges: Ranges) -> bool:
    """Does this reading ask for somebody? Below the limit of a method only a low limit speaks."""
    if row.word:
        return row.word in ranges.alarm_words
    if row.value is None:
        return False
    if row.qualifier == "<":
        return ranges.alarm_low is not None and row.value <= ranges.alarm_low
    return ranges.raises_alarm(row.value)


def reading_of(tank: Tank, number: int) -> Reading | None:
    """A reading of this tank by its number; None where it has none of that number."""
    found: Reading | None = (
        Reading.objects.of(tank.showroom)
        .filter(tank=tank, pk=number)
        .select_related("parameter", "tank__showroom")
        .first()
        if number < 2**63
        else None
    )
    return found


def ways_of(rows: Iterable[Reading]) -> dict[str, list[tuple[str, str]]]:
    """Parameter -> how a kit may count it, for those of these readings."""
    keys = {row.parameter.key for row in rows} & set(COUNTED_AS)
    return {key: [(way, SHOWN[way]) for way in COUNTED_AS[key]] for key in keys}
