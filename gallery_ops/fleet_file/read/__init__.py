"""Which tanks does an owner's spreadsheet describe?

Bytes in, rows out: a workbook or separated text, in any common encoding, with titles
above, headings in the owner's words and units in heading or cell. Nothing here knows a
database; nothing is guessed: what cannot be read is named by row and column, what could
mean two things is asked.
"""

from __future__ import annotations

from collections.abc import Mapping

from gallery_ops.fleet_file.read import sniff
from gallery_ops.fleet_file.read.cells import is_formula_like
from gallery_ops.fleet_file.read.checks import questions_of, with_contradictions
from gallery_ops.fleet_file.read.decide import decide_units, decimal_mark, stated_unit
from gallery_ops.fleet_file.read.rows import read_row
from gallery_ops.fleet_file.read.separated import SEPARATORS, read_text
from gallery_ops.fleet_file.read.table import Table, find_table, score
from gallery_ops.fleet_file.read.types import (
    CellProblem,
    Column,
    FleetFile,
    FleetRow,
    Grid,
    NotReadable,
    Question,
    SkippedLine,
)
from gallery_ops.fleet_file.read.vocabulary import column_kinds
from gallery_ops.fleet_file.read.workbook import read_sheets

__all__ = [
    "CellProblem",
    "Column",
    "FleetFile",
    "FleetRow",
    "NotReadable",
    "Question",
    "SkippedLine",
    "column_choices",
    "read_fleet",
]


def read_fleet(
    content: bytes,
    *,
    sheet: str = "",
    separator: str = "",
    length_unit: str = "",
    meanings: Mapping[str, str] | None = None,
) -> FleetFile:
    """The tanks of a file.

    content : the file as it came. sheet : which sheet of a workbook, "" for the first that
    holds a table. separator : one of ; , tab | where the file was read wrongly, else "".
    length_unit : "mm" or "cm" for measures whose unit is named nowhere, else "".
    meanings : column letter -> key, what a person said that a column means ("" leaves it
    out).

    Raises NotReadable with a sentence where the file as a whole cannot be read. A cell that
    cannot be read is no error: it stands in the problems of its row.

    >>> file = read_fleet(b"code;length cm;width cm;height cm\\nT05;60;30;36\\n")
    >>> file.rows[0].code, file.rows[0].length_mm
    ('T05', 600)
    """
    chosen = {letter.upper(): key for letter, key in (meanings or {}).items()}
    _check_wishes(separator, length_unit, chosen)
    grid = _grid(content, sheet, separator)
    table = find_table(grid, chosen)
    if not table.lines:
        raise NotReadable(
            "no_rows",
            f"Row {table.heading.number} holds headings, but no tank stands below it. "
            "Bring the list with its rows.",
        )
    return _read_table(grid, table, length_unit)


def _read_table(grid: Grid, table: Table, length_unit: str) -> FleetFile:
    mark = decimal_mark(table.columns, table.lines)
    decided = decide_units(
        table.columns, table.lines, said=length_unit, titles=stated_unit(table.above), mark=mark
    )
    columns = list(decided.columns)
    read = [read_row(line, columns, mark) for line in table.lines]
    questions = [*table.questions, *decided.questions, *_kept_as_text(table, columns)]
    for entry in read:
        questions += questions_of(entry)
    return FleetFile(
        told=grid.told + {",": ", decimal comma", ".": ", decimal point"}.get(mark or "", ""),
        heading_row=table.heading.number,
        columns=decided.columns,
        rows=tuple(with_contradictions([entry.row for entry in read], columns)),
        skipped=tuple(table.skipped),
        questions=tuple(questions),
        notes=grid.notes,
    )


def column_choices() -> list[str]:
    """The keys that a person may choose for a column that is not known."""
    return list(column_kinds())


def _check_wishes(separator: str, length_unit: str, chosen: Mapping[str, str]) -> None:
    if separator and separator not in SEPARATORS:
        raise NotReadable("separator", "Separator: choose semicolon, comma, tab or bar.")
    if length_unit not in {"", "mm", "cm"}:
        raise NotReadable("length_unit", "Unit of the measures: choose mm or cm.")
    wrong = [key for key in chosen.values() if key and key not in column_kinds()]
    if wrong:
        raise NotReadable(
            "meaning", f"“{wrong[0][:40]}” is no column. One of: {', '.join(column_kinds())}."
        )


def _grid(content: bytes, sheet: str, separator: str) -> Grid:
    sniff.check_size(content)
    if sniff.is_zip(content):
        return _sheet(read_sheets(content), sheet)
    sniff.check_kind(content)
    text, encoding = sniff.decode(content)
    return read_text(text, encoding, score, separator)


def _sheet(grids: dict[str, Grid], wanted: str) -> Grid:
    if wanted:
        if wanted not in grids:
            names = ", ".join(f"“{name}”" for name in grids)
            raise NotReadable(
                "no_sheet", f"No sheet is called “{wanted[:60]}”. This workbook has: {names}."
            )
        return grids[wanted]
    with_table = [name for name, grid in grids.items() if score(grid)]
    name = with_table[0] if with_table else next(iter(grids))
    others = [f"“{other}”" for other in grids if other != name and grids[other].lines]
    notes = (f"Not read: sheet {', '.join(others)}.",) if others else ()
    return Grid(grids[name].lines, grids[name].told, notes)


def _kept_as_text(table: Table, columns: list[Column]) -> list[Question]:
    texts = [c for c in columns if c.key and column_kinds()[c.key].kind == "text"]
    return [
        Question(
            line.number,
            f"Row {line.number}, column {column.letter} “{column.heading}”: "
            f"“{cell.text[:40]}” looks like a formula and is kept as text.",
            "formula_text",
        )
        for line in table.lines
        for column in texts
        if (cell := line.cell(column.index)) and is_formula_like(cell)
    ]
