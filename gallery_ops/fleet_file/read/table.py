"""Where in the grid is the table, and which of its lines are tanks?

Owners write a title above, a total below, a blank line between two rooms and repeat the
headings on each printed page. Each line that is not a tank is skipped and said.
"""

from __future__ import annotations

from dataclasses import dataclass

from gallery_ops.fleet_file.read import bounds
from gallery_ops.fleet_file.read.headings import columns_of, known_headings, unit_only
from gallery_ops.fleet_file.read.measures import is_dims
from gallery_ops.fleet_file.read.types import (
    CellKind,
    Column,
    Grid,
    Line,
    NotReadable,
    Question,
    SkippedLine,
)
from gallery_ops.fleet_file.read.vocabulary import plain, words

_SUMS = ("total", "sum", "summe", "gesamt", "insgesamt")


@dataclass(frozen=True, slots=True)
class Table:
    """The table of a grid: what stands above it, its columns, its tank lines."""

    above: list[Line]
    heading: Line
    columns: list[Column]
    lines: list[Line]
    skipped: list[SkippedLine]
    questions: list[Question]


def score(grid: Grid) -> int:
    """How many known headings the best line of a grid has; 0 where none is a heading line."""
    found = _heading_line(grid)
    return known_headings(grid.lines[found]) if found is not None else 0


def find_table(grid: Grid, chosen: dict[str, str]) -> Table:
    """The table in a grid. Raises NotReadable where no line names a code and a measure."""
    at = _heading_line(grid)
    if at is None:
        raise NotReadable("no_headings", _no_headings(grid))
    heading = grid.lines[at]
    if len(heading.cells) > bounds.COLUMNS and not heading.cells[bounds.COLUMNS].is_blank:
        raise NotReadable(
            "too_many_columns",
            f"This table has more than {bounds.COLUMNS} columns. Leave out what is not of tanks.",
        )
    below = list(grid.lines[at + 1 :])
    units = below[0] if below and _is_units_line(below[0]) else None
    columns = columns_of(heading, units, chosen)
    columns, questions = _settle(columns, below, chosen)
    lines, skipped = _sort(below[1:] if units else below, heading, columns)
    if units:
        skipped.insert(0, SkippedLine(units.number, "the units of the headings", _words(units)))
    if len(lines) > bounds.ROWS:
        raise NotReadable(
            "too_many_rows",
            f"This table has {len(lines):,} rows; {bounds.ROWS:,} can be brought in at once. "
            "Bring the tanks in several files.",
        )
    return Table(list(grid.lines[:at]), heading, columns, lines, skipped, questions)


def _heading_line(grid: Grid) -> int | None:
    """The first of the lines with the most known headings, two at least."""
    counts = [known_headings(line) for line in grid.lines[: bounds.HEADING_WITHIN]]
    best = max(counts, default=0)
    return counts.index(best) if best >= 2 else None


def _no_headings(grid: Grid) -> str:
    first = "; ".join(cell.text[:30] for cell in grid.lines[0].filled[:5]) if grid.lines else ""
    return (
        f"Read as {grid.told}, but no row with headings was found in the first "
        f"{bounds.HEADING_WITHIN} rows"
        + (f" (the first says “{first}”). " if first else ". ")
        + "One row must name the columns: “code” and the measures, as “length”, “width”, “height”."
        " If the columns ran together, choose the separator."
    )


def _is_units_line(line: Line) -> bool:
    return all(unit_only(cell.text) for cell in line.filled)


def _settle(
    columns: list[Column], below: list[Line], chosen: dict[str, str]
) -> tuple[list[Column], list[Question]]:
    """Depth and width sorted out, and an unknown column that holds 60x30x36 recognised."""
    columns, questions = _with_dims(columns, below, chosen)
    keys = [column.key for column in columns]
    if "depth" in keys and "width" in keys and "length" not in keys:
        raise NotReadable(
            "which_side",
            "One column is headed width and one depth, and none length. Head the long side "
            "“length” and the one from front to back “width”.",
        )
    if "code" not in keys:
        raise NotReadable(
            "no_code",
            "No column says which tank a row is of. Head that column “code”. Found: "
            + ", ".join(f"“{column.heading[:30]}”" for column in columns[:12])
            + ".",
        )
    doubles = {key for key in keys if key and keys.count(key) > 1}
    for key in sorted(doubles):
        same = [c for c in columns if c.key == key]
        named = " and ".join(f"{c.letter} “{c.heading}”" for c in same)
        sentence = f"Columns {named} mean the same. Where they differ, the row is named."
        questions.append(Question(0, sentence, "same_heading"))
    return columns, questions


def _with_dims(
    columns: list[Column], below: list[Line], chosen: dict[str, str]
) -> tuple[list[Column], list[Question]]:
    if any(column.key in {"dims", "length"} for column in columns):
        return columns, []
    for place, column in enumerate(columns):
        cells = [line.cell(column.index) for line in below[:40]]
        filled = [cell for cell in cells if not cell.is_blank]
        if column.key or column.letter in chosen or not filled:
            continue
        if sum(is_dims(cell) for cell in filled) * 2 > len(filled):
            known = Column(column.index, column.letter, column.heading, "dims")
            sentence = (
                f"Column {column.letter} “{column.heading}” was taken for length x width x height."
            )
            changed = [*columns[:place], known, *columns[place + 1 :]]
            return changed, [Question(0, sentence, "dims_found")]
    return columns, []


def _sort(
    below: list[Line], heading: Line, columns: list[Column]
) -> tuple[list[Line], list[SkippedLine]]:
    """The lines that are tanks, and the others with the reason."""
    code = next(column for column in columns if column.key == "code")
    titles = {plain(cell.text) for cell in heading.filled}
    lines: list[Line] = []
    skipped: list[SkippedLine] = []
    for line in below:
        why = _why_no_tank(line, code, titles, columns)
        if why:
            skipped.append(SkippedLine(line.number, why, _words(line)))
        else:
            lines.append(line)
    return lines, skipped


def _why_no_tank(line: Line, code: Column, titles: set[str], columns: list[Column]) -> str:
    filled = line.filled
    texts = [plain(cell.text) for cell in filled]
    if len(filled) > 1 and sum(text in titles for text in texts) * 2 > len(texts):
        return "the headings again"
    code_cell = line.cell(code.index)
    if _is_total(texts[0] if code_cell.is_blank else plain(code_cell.text)):
        return "a total"
    if len(filled) == 1 and (code_cell.is_blank or " " in code_cell.text):
        return "a note, not a tank"
    if code_cell.is_blank and not _says_who(line, columns):
        return "numbers without a tank, perhaps a total"
    return ""


def _is_total(text: str) -> bool:
    """ "Total", "Summe:", "Gesamt (20 Becken)", "∑"; but not "Mean Tide"."""
    if text.startswith(("\u2211", "\u03c3")):
        return True
    bare = text.strip("=:. ")
    return bare in words().totals or bare.startswith(tuple(f"{word} " for word in _SUMS))


def _says_who(line: Line, columns: list[Column]) -> bool:
    """Does a line without a code say anything but bare numbers?"""
    named = {"title", "room", "place", "dims", "designer", "stage"}
    cells = [line.cell(c.index) for c in columns if c.key in named]
    return any(cell.kind in {CellKind.TEXT, CellKind.DATE} for cell in cells)


def _words(line: Line) -> str:
    return "; ".join(cell.text[:30] for cell in line.filled[:6])
