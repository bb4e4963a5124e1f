"""What does one cell say about a tank, and if it cannot be read, what would be allowed?"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from gallery_ops.fleet_file.read import bounds
from gallery_ops.fleet_file.read.measures import factor, in_base, shown, split_amount, split_dims
from gallery_ops.fleet_file.read.types import Cell, CellKind, CellProblem, Column
from gallery_ops.fleet_file.read.vocabulary import ColumnKind, column_kinds, plain, words
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.text import clean_text

_SIDES = ("length", "width", "height")
_DAYS = ((r"(\d{4})-(\d{1,2})-(\d{1,2})", "ymd"), (r"(\d{1,2})\. ?(\d{1,2})\. ?(\d{4})", "dmy"))
_DATE_ALLOWED = "Write a day, the year first; 3/4/2026 could be two days."
_WITHOUT_CO2 = re.compile(r" (?:no|without|ohne) co2$")
_WEEK = re.compile(r" (?:w|week|woche) ?([1-9])$")
_RANGE_UNIT = {"length": "mm", "mass": "g"}


class CellRefused(Exception):
    """A cell that cannot come in, with what would be allowed and an example."""

    def __init__(self, allowed: str, example: str = "", code: str = "cell") -> None:
        super().__init__(allowed)
        self.allowed = allowed
        self.example = example
        self.code = code

    def problem(self, row: int, column: Column, cell: Cell) -> CellProblem:
        """This refusal with its place in the file."""
        return CellProblem(
            row=row,
            letter=column.letter,
            heading=column.heading,
            quoted=cell.text[:80],
            allowed=self.allowed,
            example=self.example,
            code=self.code,
        )


@dataclass(frozen=True, slots=True)
class Stage:
    """A state of a tank's life, with what the owner's word adds to it."""

    stage: str
    week: int | None = None
    without_co2: bool = False


def is_said(cell: Cell) -> bool:
    """Does the cell say anything? A dash and "n/a" say nothing."""
    return not cell.is_blank and plain(cell.text) not in words().blank


def text_of(cell: Cell, kind: ColumnKind) -> str:
    """The text of a cell, within the length that its column may have."""
    if len(cell.text) > bounds.CELL_CHARACTERS or len(cell.text) > kind.most:
        raise CellRefused(f"At most {kind.most} characters. Shorten it.", kind.example, "long")
    try:
        return clean_text(cell.text, field=kind.key, longest=int(kind.most))
    except OutOfRange as error:
        raise CellRefused(f"{error.allowed.capitalize()}.", kind.example) from error


def code_of(cell: Cell, kind: ColumnKind) -> str:
    """A tank code: letters, digits and . - / _, without spaces inside."""
    code = text_of(cell, kind)
    if not re.fullmatch(r"[\w][\w./-]*", code):
        raise CellRefused(
            "A code has letters, digits, . - / or _ and no spaces.", kind.example, "code"
        )
    return code


def whole_of(cell: Cell, kind: ColumnKind) -> int:
    """A whole number such as a place in the walking order."""
    try:
        number, unit = split_amount(cell, kind.key, None)
    except OutOfRange as error:
        raise CellRefused("Write a whole number.", kind.example) from error
    if unit or number != number.to_integral_value() or not kind.least <= number <= kind.most:
        raise CellRefused(f"Write a whole number, {kind.least} to {kind.most}.", kind.example)
    return int(number)


def amount_of(cell: Cell, column: Column, kind: ColumnKind, mark: str | None) -> int:
    """A measure in base units: the unit in the cell wins over that of the heading."""
    try:
        number, unit = split_amount(cell, column.heading, mark)
        base = in_base(number, unit or column.unit, kind.kind, column.heading)
    except OutOfRange as error:
        raise CellRefused(f"{_lead(kind, column)} {error.remedy}".strip(), kind.example) from error
    _check_range(base, column, kind)
    return base


def dims_of(cell: Cell, column: Column, mark: str | None) -> dict[str, int]:
    """Length, width and height in millimetres from one cell as "60x30x36 cm"."""
    kind = column_kinds()["dims"]
    try:
        numbers, unit = split_dims(cell, column.heading, mark)
        sides = {
            side: in_base(number, unit or column.unit, "dims", column.heading)
            for side, number in zip(_SIDES, numbers, strict=True)
        }
    except OutOfRange as error:
        raise CellRefused(
            f"Write length x width x height with one unit. {error.remedy}".strip(), kind.example
        ) from error
    for side, base in sides.items():
        try:
            _check_range(base, column, column_kinds()[side])
        except CellRefused as refused:
            allowed = f"Its {side}: {refused.allowed[:1].lower()}{refused.allowed[1:]}"
            raise CellRefused(allowed, kind.example, "range") from refused
    return sides


def stage_of(cell: Cell) -> Stage:
    """The state of a tank's life from the owner's word for it."""
    said = re.sub(r"[\W_]+", " ", plain(cell.text)).strip()
    without = _WITHOUT_CO2.search(said)
    week = _WEEK.search(said)
    stage = words().stages.get(_WEEK.sub("", _WITHOUT_CO2.sub("", said)))
    if stage is None or (week and stage != "start_up"):
        raise CellRefused("Write one of: " + ", ".join(stage_names()) + ".", "show", "stage")
    return Stage(stage, int(week[1]) if week else None, without_co2=without is not None)


def stage_names() -> list[str]:
    """The states as people write them."""
    return sorted({stage.replace("_", " ") for stage in words().stages.values()})


def date_of(cell: Cell, kind: ColumnKind) -> date:
    """A day as 2026-03-07, 7.3.2026, or as the spreadsheet keeps it; 3/4/2026 is refused."""
    text = cell.text.removesuffix(" 00:00:00")
    for pattern, order in _DAYS:
        if found := re.fullmatch(pattern, text):
            parts = dict(zip(order, (int(part) for part in found.groups()), strict=True))
            return _day(parts["y"], parts["m"], parts["d"], kind)
    raise CellRefused(_DATE_ALLOWED, kind.example, "date")


def _day(year: int, month: int, day: int, kind: ColumnKind) -> date:
    try:
        found = date(year, month, day)
    except ValueError as error:
        raise CellRefused("There is no such day.", kind.example, "date") from error
    if found.year < 1990:
        raise CellRefused("Write a day from 1990 on.", kind.example, "date")
    return found


def style_of(cell: Cell) -> str:
    """The style of a layout from the owner's word for it."""
    said = re.sub(r"[\W_]+", " ", plain(cell.text)).strip()
    style = words().styles.get(said)
    if style is None:
        raise CellRefused(
            "Write one of: stem-plant layout, stone layout, wood layout, no CO2, shrimp.",
            column_kinds()["style"].example,
            "style",
        )
    return style


def kind_of_glass_of(cell: Cell) -> str:
    """Float or low-iron, from the owner's word for it."""
    said = re.sub(r"[\W_]+", " ", plain(cell.text)).strip()
    kind = words().kinds_of_glass.get(said)
    if kind is None:
        example = column_kinds()["kind_of_glass"].example
        raise CellRefused("Write one of: float, low-iron.", example, "kind_of_glass")
    return kind


def _check_range(base: int, column: Column, kind: ColumnKind) -> None:
    unit = _RANGE_UNIT.get(kind.kind, kind.unit)
    times = factor(unit)
    if base == 0 and kind.key == "cylinder":
        return
    if not kind.least * times <= base <= kind.most * times:
        raise CellRefused(_lead(kind, column), kind.example, "range")


def _lead(kind: ColumnKind, column: Column) -> str:
    """Write a number, 10 to 500 cm."""
    if kind.kind == "dims":
        return "Write length x width x height with one unit."
    unit = _RANGE_UNIT.get(kind.kind, kind.unit)
    shown_in = column.unit or unit
    least, most = (shown(limit * factor(unit), shown_in) for limit in (kind.least, kind.most))
    return f"Write a number, {_rounded(least)} to {_rounded(most)} {shown_in}."


def _rounded(number: str) -> str:
    return f"{Decimal(number).quantize(Decimal('0.1'))}" if len(number) > 8 else number


def is_formula_like(cell: Cell) -> bool:
    """Text that a spreadsheet could take for a formula; it is kept as text."""
    return cell.kind is CellKind.FORMULA or (
        cell.kind is CellKind.TEXT and cell.text[:1] in {"=", "+", "-", "@"} and is_said(cell)
    )
