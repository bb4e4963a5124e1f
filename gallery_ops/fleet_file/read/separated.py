"""Which table does a text file hold, whatever its separator?"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

from gallery_ops.fleet_file.read import bounds
from gallery_ops.fleet_file.read.types import Grid, Line, NotReadable
from gallery_ops.fleet_file.read.workbook import text_cell

SEPARATORS = {";": "semicolon", ",": "comma", "\t": "tab", "|": "bar"}


def read_text(text: str, encoding: str, score: Callable[[Grid], int], separator: str = "") -> Grid:
    """The table in a text, by the separator under which most headings are known.

    ``score`` counts the known headings of a grid. A first line ``sep=;`` is believed, as
    is a separator that a person chose. Raises NotReadable.
    """
    text, stated = _stated_separator(text)
    wanted = separator or stated
    if wanted:
        return _grid(text, wanted, encoding)
    grids = [_grid(text, sign, encoding) for sign in SEPARATORS if sign in text]
    if not grids:
        raise NotReadable(
            "one_column",
            "This text was read as one column: no semicolon, comma, tab or bar stands in it. "
            "Save the list as .csv or .xlsx and bring that in.",
        )
    return max(grids, key=lambda grid: (score(grid), _width(grid)))


def _stated_separator(text: str) -> tuple[str, str]:
    first, _, rest = text.partition("\n")
    first = first.strip('\r "')
    if first.lower().startswith("sep=") and first[4:] in SEPARATORS:
        # An empty line stays in its place, so that row numbers agree with the file.
        return "\n" + rest, first[4]
    return text, ""


def _grid(text: str, separator: str, encoding: str) -> Grid:
    told = f"{SEPARATORS.get(separator, repr(separator))} separated, {encoding}"
    lines: list[Line] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    try:
        for number, row in enumerate(reader, start=1):
            cells = tuple(text_cell(cell) for cell in row[: bounds.COLUMNS + 1])
            if any(not cell.is_blank for cell in cells):
                lines.append(Line(number, cells))
            if len(lines) > bounds.ROWS + bounds.HEADING_WITHIN or number > bounds.ROWS_LOOKED_AT:
                raise NotReadable(
                    "too_many_rows",
                    f"This list has more than {bounds.ROWS:,} rows. "
                    "Bring the tanks in several files, or leave the other rows out.",
                )
    except csv.Error as error:
        raise NotReadable(
            "not_a_table",
            f"Row {len(lines) + 1} of this text cannot be read as cells: perhaps a quotation "
            "mark is never closed. Save the list again as .csv or .xlsx and bring that in.",
        ) from error
    return Grid(tuple(lines), told)


def _width(grid: Grid) -> int:
    return max((len(line.filled) for line in grid.lines[:60]), default=0)
