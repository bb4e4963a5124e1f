"""What does a workbook hold, read without trusting it?

The list inside the zip is asked first (how many parts, how large unpacked), then the
sheet is read row by row with a cap on rows, columns and length of a cell. Formulas stay
text: nothing is computed, and no other file is opened.
"""

from __future__ import annotations

import datetime as dt
import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, Protocol

from gallery_ops.fleet_file.read import bounds
from gallery_ops.fleet_file.read.types import Cell, CellKind, Grid, Line, NotReadable

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

_SAVE_AGAIN = "Open it in your spreadsheet program, save it again as .xlsx and bring that in."


class _SheetCell(Protocol):
    @property
    def value(self) -> object: ...

    @property
    def number_format(self) -> str: ...


def check_zip(content: bytes) -> None:
    """Refuse a zip that is no workbook, or one that unpacks to far more than a list."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            parts = archive.infolist()
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError) as error:
        raise NotReadable("broken", f"This workbook is damaged. {_SAVE_AGAIN}") from error
    unpacked = sum(part.file_size for part in parts)
    if len(parts) > bounds.ZIP_ENTRIES or unpacked > bounds.ZIP_UNPACKED_BYTES:
        raise NotReadable(
            "unpacks_too_large",
            f"This workbook unpacks to {unpacked / 1_000_000:,.0f} MB in {len(parts)} parts; "
            f"up to {bounds.ZIP_UNPACKED_BYTES // 1_000_000} MB are read. It was not opened. "
            "Copy the sheet with the tanks into a new workbook and bring that in.",
        )
    if not any(part.filename == "xl/workbook.xml" for part in parts):
        raise NotReadable(
            "not_a_table",
            "This is a packed file, but not an .xlsx workbook. "
            "Save the list as .xlsx or .csv and bring that in.",
        )


def read_sheets(content: bytes) -> dict[str, Grid]:
    """Every sheet of a workbook as a grid, in order. Raises NotReadable."""
    check_zip(content)
    from openpyxl import load_workbook  # heavy, and only wanted where a workbook comes

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it warns of charts and styles that we never read
            book = load_workbook(io.BytesIO(content), read_only=True, keep_links=False)
            try:
                grids = {sheet.title: _grid(sheet.title, sheet) for sheet in book.worksheets[:20]}
            finally:
                book.close()
    except NotReadable:
        raise
    except Exception as error:  # a broken file fails in openpyxl in a hundred ways
        raise NotReadable("broken", f"This workbook is damaged. {_SAVE_AGAIN}") from error
    if not grids:
        raise NotReadable("empty", "This workbook has no sheet with cells.")
    return grids


class _Sheet(Protocol):
    def reset_dimensions(self) -> None: ...

    def iter_rows(self, *, max_row: int, max_col: int) -> Iterable[Sequence[_SheetCell]]: ...


def _grid(title: str, sheet: _Sheet) -> Grid:
    sheet.reset_dimensions()  # the stated size may lie
    return Grid(lines=tuple(_lines(sheet)), told=f"workbook, sheet “{title}”")


def _lines(sheet: _Sheet) -> Iterator[Line]:
    filled = 0
    rows = sheet.iter_rows(max_row=bounds.ROWS_LOOKED_AT, max_col=bounds.COLUMNS + 1)
    for number, row in enumerate(rows, start=1):
        cells = tuple(_cell(cell.value, cell.number_format) for cell in row)
        if all(cell.is_blank for cell in cells):
            continue
        filled += 1
        if filled > bounds.ROWS + bounds.HEADING_WITHIN:
            raise NotReadable(
                "too_many_rows",
                f"This sheet has more than {bounds.ROWS:,} filled rows. "
                "Bring the tanks in several files, or leave the other rows out.",
            )
        yield Line(number, cells)


def _cell(value: object, number_format: str) -> Cell:
    if value is None:
        return Cell()
    if isinstance(value, bool):
        return Cell("yes" if value else "no", CellKind.TEXT)
    if isinstance(value, int | float | Decimal):
        return _number(value, number_format)
    if isinstance(value, dt.date | dt.time | dt.timedelta):
        return Cell(str(value), CellKind.DATE)
    text = value if isinstance(value, str) else str(getattr(value, "text", value))
    return text_cell(text, is_formula=not isinstance(value, str) or text.startswith("="))


def _number(value: float | Decimal, number_format: str) -> Cell:
    # Twelve digits are more than any scale or tape gives and hide binary residue (0.1 + 0.2).
    number = Decimal(f"{value:.12g}")
    if not number.is_finite():
        return Cell(str(value), CellKind.TEXT)
    text = f"{number:f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    shown = re.search(r'"\s*([^"]{1,12}?)\s*"\s*$', (number_format or "").split(";")[0])
    return Cell(f"{text} {shown[1]}" if shown else text, CellKind.NUMBER, number)


def text_cell(text: str, *, is_formula: bool = False) -> Cell:
    """A cell of text: white space folded, over-long text cut one character past the limit."""
    folded = " ".join(text[: bounds.CELL_CHARACTERS * 4].split())[: bounds.CELL_CHARACTERS + 1]
    if not folded:
        return Cell()
    return Cell(folded, CellKind.FORMULA if is_formula else CellKind.TEXT)
