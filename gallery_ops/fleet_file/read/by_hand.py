"""What does one form about a tank say? Read by the same rules as a row of a list."""

from __future__ import annotations

from collections.abc import Mapping

from gallery_ops.fleet_file.read.checks import questions_of, with_contradictions
from gallery_ops.fleet_file.read.rows import read_row
from gallery_ops.fleet_file.read.types import Column, FleetFile, FleetRow, Line
from gallery_ops.fleet_file.read.vocabulary import column_kinds
from gallery_ops.fleet_file.read.workbook import text_cell

_UNITS = {"length": "cm", "width": "cm", "height": "cm"}


def read_values(values: Mapping[str, str], labels: Mapping[str, str], mark: str) -> FleetFile:
    """A list of one row from the fields of a form.

    values : key of a column -> text as typed; lengths without a unit are in cm, glass in mm,
    the rest as in ``columns.toml``. labels : key -> what the form calls it. mark : decimal
    mark of the showroom. A problem carries its key where a list carries the letter.
    """
    columns = [
        Column(
            index=place,
            letter=key,
            heading=labels.get(key, key),
            key=key,
            unit=_UNITS.get(key) or column_kinds()[key].unit,
        )
        for place, key in enumerate(values)
    ]
    line = Line(1, tuple(text_cell(text) for text in values.values()))
    read = read_row(line, columns, mark)
    rows: list[FleetRow] = with_contradictions([read.row], columns)
    return FleetFile(
        told="",
        heading_row=0,
        columns=tuple(columns),
        rows=tuple(rows),
        questions=tuple(questions_of(read)),
    )
