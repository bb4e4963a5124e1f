"""Which tank does one row of the file describe?"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from gallery_ops.fleet_file.read import cells as cell_readers
from gallery_ops.fleet_file.read.cells import CellRefused, Stage, is_said
from gallery_ops.fleet_file.read.measures import shown
from gallery_ops.fleet_file.read.types import Cell, CellProblem, Column, FleetRow, Line
from gallery_ops.fleet_file.read.vocabulary import ColumnKind, column_kinds

_FIELDS = {
    "length": "length_mm",
    "width": "width_mm",
    "depth": "width_mm",
    "height": "height_mm",
    "glass": "glass_mm",
    "dose": "dose_ul_day",
    "full_dose": "full_dose_ul",
    "co2": "co2_mg_day",
    "cylinder": "cylinder_mg",
    "food": "food_mg_day",
    "water_change": "water_change_ul_week",
    "evaporation": "evaporation_ul_day",
    "energy": "energy_wh_day",
}
LITRES = {"nominal", "internal", "working"}
"""Columns of typed litres [uL]: held against the measures, never kept."""


@dataclass
class _Reading:
    """A row in the making."""

    line: Line
    values: dict[str, Any] = field(default_factory=dict)
    columns: dict[str, Column] = field(default_factory=dict)
    litres: dict[str, int] = field(default_factory=dict)
    problems: list[CellProblem] = field(default_factory=list)
    cells: dict[str, str] = field(default_factory=dict)

    def put(self, name: str, value: object, column: Column) -> None:
        """Keep a value; where two columns say two different things, say so."""
        before = self.values.get(name)
        if before is not None and before != value:
            other = self.columns[name]
            raise CellRefused(
                f"Column {other.letter} “{other.heading}” of the same row says otherwise. "
                "Keep one of the two.",
                code="two_columns",
            )
        self.values[name] = value
        self.columns[name] = column


@dataclass(frozen=True, slots=True)
class ReadRow:
    """A row, and the litres that it types [uL] for comparison."""

    row: FleetRow
    litres: dict[str, int]


def read_row(line: Line, columns: list[Column], mark: str | None) -> ReadRow:
    """The tank of one line, with a problem for each cell that cannot be read."""
    reading = _Reading(line)
    for column in columns:
        cell = line.cell(column.index)
        if not column.key or column.left_out or not is_said(cell):
            continue
        reading.cells.setdefault(column.key, cell.text)
        try:
            _read_cell(reading, column, mark)
        except CellRefused as refused:
            reading.problems.append(refused.problem(line.number, column, cell))
    if "code" not in reading.values and not any(p.code == "code" for p in reading.problems):
        reading.problems.append(_no_code(line, columns))
    values = {"code": "", **reading.values}
    row = FleetRow(row=line.number, **values, problems=tuple(reading.problems), cells=reading.cells)
    return ReadRow(row, reading.litres)


def _read_cell(reading: _Reading, column: Column, mark: str | None) -> None:
    kind = column_kinds()[column.key]
    if column.key in LITRES:
        _read_litres(reading, column, mark)
    elif kind.kind in {"text", "whole", "style", "kind_of_glass"}:
        reading.put(column.key, _plain_value(reading.line.cell(column.index), kind), column)
    elif kind.kind == "dims":
        sides = cell_readers.dims_of(reading.line.cell(column.index), column, mark)
        for side, base in sides.items():
            reading.put(f"{side}_mm", base, column)
    elif kind.kind == "stage":
        _put_stage(reading, cell_readers.stage_of(reading.line.cell(column.index)), column)
    elif kind.kind == "date":
        day = cell_readers.date_of(reading.line.cell(column.index), kind)
        reading.put("flooded_on", day, column)
    else:
        _put_amount(reading, column, kind, mark)


def _plain_value(cell: Cell, kind: ColumnKind) -> str | int:
    if kind.key == "code":
        return cell_readers.code_of(cell, kind)
    if kind.kind == "whole":
        return cell_readers.whole_of(cell, kind)
    if kind.kind == "style":
        return cell_readers.style_of(cell)
    if kind.kind == "kind_of_glass":
        return cell_readers.kind_of_glass_of(cell)
    return cell_readers.text_of(cell, kind)


def _put_amount(reading: _Reading, column: Column, kind: ColumnKind, mark: str | None) -> None:
    amount = cell_readers.amount_of(reading.line.cell(column.index), column, kind, mark)
    reading.put(_FIELDS[column.key], amount, column)
    if column.key == "co2" and amount > 0:
        reading.put("has_co2", True, column)


def _put_stage(reading: _Reading, stage: Stage, column: Column) -> None:
    reading.put("stage", stage.stage, column)
    if stage.week:
        reading.put("start_up_week", stage.week, column)
    if stage.without_co2:
        reading.put("has_co2", False, column)


def _read_litres(reading: _Reading, column: Column, mark: str | None) -> None:
    """Litres are only compared, so a formula or a word there stops nothing."""
    kind = column_kinds()[column.key]
    try:
        amount = cell_readers.amount_of(reading.line.cell(column.index), column, kind, mark)
    except CellRefused:
        return
    reading.litres.setdefault(column.key, amount)


def _no_code(line: Line, columns: list[Column]) -> CellProblem:
    column = next((c for c in columns if c.key == "code"), None)
    return CellProblem(
        row=line.number,
        letter=column.letter if column else "",
        heading=column.heading if column else "",
        quoted="",
        allowed="Each tank has a code of its own.",
        example=column_kinds()["code"].example,
        code="no_code",
    )


def measures_of(row: FleetRow) -> str:
    """The outer measures in centimetres, as "60 × 30 × 36"; empty where one is missing."""
    sides = (row.length_mm, row.width_mm, row.height_mm)
    if any(side is None for side in sides):
        return ""
    return " × ".join(shown(side, "cm") for side in sides if side is not None)
