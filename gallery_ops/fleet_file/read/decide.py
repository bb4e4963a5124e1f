"""In which unit is a column that names none?

Only what leaves no doubt is decided, for the whole column and with a word about it. A
column that could be either is asked; nothing is taken row by row.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from decimal import Decimal

from gallery_ops.fleet_file.read.measures import split_amount, split_dims
from gallery_ops.fleet_file.read.types import Cell, CellKind, Column, Line, NotReadable, Question
from gallery_ops.fleet_file.read.vocabulary import column_kinds, plain
from gallery_ops.kernel.values.limits import OutOfRange

# What a display tank may measure [mm]; common practice, no source.
_LIKELY_MM = {"length": (150, 4000), "width": (100, 1500), "height": (100, 1200)}
_SIDES = ("length", "width", "height")
_STATED = re.compile(r"\b(?:in|alle|all|measures?|masse)\b[^.;]{0,30}?\b(mm|cm)\b")


@dataclass(frozen=True, slots=True)
class Decided:
    """The columns with their units, and what was decided on the way."""

    columns: tuple[Column, ...]
    questions: tuple[Question, ...]


def stated_unit(lines: list[Line]) -> str:
    """The unit that the title rows state for all measures, as "alle Maße in mm"; or ""."""
    found = {
        match
        for line in lines
        for cell in line.filled
        for match in _STATED.findall(plain(cell.text))
    }
    return found.pop() if len(found) == 1 else ""


def decide_units(
    columns: list[Column], lines: list[Line], *, said: str, titles: str, mark: str | None
) -> Decided:
    """Fill in the unit of every column that wants one.

    said : the unit of lengths that a person chose, or "". titles : the one that the title
    rows state, or "". Raises NotReadable with the code ``ask_unit`` where it must be asked.
    """
    questions: list[Question] = []
    unit, source = _length_unit(columns, lines, said, titles, mark, questions)
    cylinder = _cylinder_unit(columns, lines, mark, questions)
    done = []
    for column in columns:
        kind = column_kinds()[column.key] if column.key else None
        if kind is None or column.unit:
            done.append(column)
        elif column.key in {*_SIDES, "dims"}:
            done.append(replace(column, unit=unit, unit_from=source))
        elif column.key == "cylinder":
            done.append(replace(column, unit=cylinder, unit_from="the column"))
        else:
            done.append(replace(column, unit=kind.unit, unit_from="custom" if kind.unit else ""))
    return Decided(tuple(done), tuple(questions))


def _length_unit(
    columns: list[Column],
    lines: list[Line],
    said: str,
    titles: str,
    mark: str | None,
    questions: list[Question],
) -> tuple[str, str]:
    if said:
        return said, "what was chosen"
    if titles:
        return titles, "the title"
    bare = _bare_lengths(columns, lines, mark)
    if not bare:
        return "cm", "nothing"
    fits = [unit for unit, times in (("cm", 10), ("mm", 1)) if _all_likely(bare, times)]
    numbers = [number for _, number in bare]
    span = f"{min(numbers):f} to {max(numbers):f}"
    if len(fits) != 1:
        raise NotReadable(
            "ask_unit",
            f"No unit is named for the measures of the glass, and {span} "
            + (
                "could be centimetres or millimetres. "
                if fits
                else "is neither all cm nor all mm. "
            )
            + "Write it into the heading, for example “Length cm”, or say which one it is.",
        )
    other = "millimetres" if fits[0] == "cm" else "centimetres"
    words = "centimetres" if fits[0] == "cm" else "millimetres"
    questions.append(
        Question(
            0,
            f"No unit is named for the measures of the glass. Read as {words}, since {span} "
            f"{other} would be no display tanks. If that is wrong, write the unit into the "
            "heading.",
            "unit_decided",
        )
    )
    return fits[0], "the column"


def _bare_lengths(
    columns: list[Column], lines: list[Line], mark: str | None
) -> list[tuple[str, Decimal]]:
    """Every length that stands without a unit, with the side that it measures."""
    found: list[tuple[str, Decimal]] = []
    for column in columns:
        if column.unit or column.key not in {*_SIDES, "dims"}:
            continue
        for line in lines:
            found += _bare(column.key, line.cell(column.index), mark)
    return found


def _bare(key: str, cell: Cell, mark: str | None) -> list[tuple[str, Decimal]]:
    if cell.is_blank:
        return []
    try:
        if key == "dims":
            numbers, unit = split_dims(cell, "", mark)
            return [] if unit else list(zip(_SIDES, numbers, strict=True))
        number, unit = split_amount(cell, "", mark)
    except OutOfRange:
        return []
    return [] if unit else [(key, number)]


def _all_likely(bare: list[tuple[str, Decimal]], times: int) -> bool:
    return all(
        _LIKELY_MM[side][0] <= number * times <= _LIKELY_MM[side][1] for side, number in bare
    )


def _cylinder_unit(
    columns: list[Column], lines: list[Line], mark: str | None, questions: list[Question]
) -> str:
    """Grams from 100 upwards, kilograms up to 60; a column with both is asked."""
    column = next((c for c in columns if c.key == "cylinder" and not c.unit), None)
    if column is None:
        return "g"
    numbers = []
    for line in lines:
        numbers += [n for _, n in _bare("cylinder", line.cell(column.index), mark) if n > 0]
    if all(number >= 100 for number in numbers):
        return "g"
    if not all(number <= 60 for number in numbers):
        raise NotReadable(
            "ask_unit",
            f"Column {column.letter} “{column.heading}” names no unit, and its numbers could be "
            "grams or kilograms. Write it into the heading, for example “Cylinder g”.",
        )
    questions.append(
        Question(
            0,
            f"Column {column.letter} “{column.heading}” names no unit. Read as kilograms.",
            "unit_decided",
        )
    )
    return "kg"


def decimal_mark(columns: list[Column], lines: list[Line]) -> str | None:
    """The decimal mark of a file, if all its numbers agree on one; else None.

    Only numbers with one mark and one, two or four and more digits after it count, since
    three digits could follow a mark between thousands.
    """
    amounts = {"length", "volume", "mass", "energy", "dims"}
    wanted = [c for c in columns if c.key and column_kinds()[c.key].kind in amounts]
    marks: set[str] = set()
    for line in lines:
        for column in wanted:
            cell = line.cell(column.index)
            if cell.kind is CellKind.TEXT:
                marks.update(
                    re.findall(r"(?<![\d.,])\d+([.,])(?:\d{1,2}|\d{4,})(?![\d.,])", cell.text)
                )
    return marks.pop() if len(marks) == 1 else None
