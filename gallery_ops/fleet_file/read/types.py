"""What does a read fleet file hold?

Everything here is frozen and knows nothing of a database. Lengths are whole
millimetres, volumes whole microlitres, masses whole milligrams, energy whole watt-hours.
``None`` means that the file does not say; it never means zero.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum


class NotReadable(Exception):
    """The file as a whole cannot be read. Holds a stable code and a sentence for people."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code
        self.sentence = sentence


class CellKind(StrEnum):
    BLANK = "blank"
    TEXT = "text"
    NUMBER = "number"
    DATE = "date"
    FORMULA = "formula"


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: its text as a person sees it, and its number if the file stored one."""

    text: str = ""
    kind: CellKind = CellKind.BLANK
    number: Decimal | None = None

    @property
    def is_blank(self) -> bool:
        return self.kind is CellKind.BLANK


@dataclass(frozen=True, slots=True)
class Line:
    """One row of the file; ``number`` counts as the spreadsheet does, from 1."""

    number: int
    cells: tuple[Cell, ...]

    @property
    def filled(self) -> list[Cell]:
        return [cell for cell in self.cells if not cell.is_blank]

    def cell(self, index: int) -> Cell:
        """The cell at a column, blank where the row is shorter."""
        return self.cells[index] if index < len(self.cells) else Cell()


@dataclass(frozen=True, slots=True)
class Grid:
    """A table before anybody knows what its columns mean."""

    lines: tuple[Line, ...]
    told: str
    """How the file was read, in words: "comma separated, UTF-8"."""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Column:
    """One column with a heading. ``key`` is empty where the heading is not known."""

    index: int
    letter: str
    heading: str
    key: str = ""
    unit: str = ""
    unit_from: str = ""
    left_out: str = ""
    """Why a column is not read although it has a heading; empty where it is read."""


@dataclass(frozen=True, slots=True)
class CellProblem:
    """One cell that cannot come in: where, what it says, what is allowed, an example."""

    row: int
    letter: str
    heading: str
    quoted: str
    allowed: str
    example: str = ""
    other_row: int | None = None
    code: str = "cell"

    @property
    def sentence(self) -> str:
        """Row 8, column E "height": it says "tall". Write ..., for example 36."""
        where = f"Row {self.row}"
        if self.letter:
            where += f", column {self.letter} “{self.heading}”"
        says = f": it says “{self.quoted}”." if self.quoted else ": it is empty."
        if not self.letter and not self.quoted:
            says = ":"
        example = f" For example: {self.example}." if self.example else ""
        return f"{where}{says} {self.allowed}{example}"


@dataclass(frozen=True, slots=True)
class Question:
    """Something that is asked and not refused. ``row`` 0 is the file as a whole."""

    row: int
    sentence: str
    code: str


@dataclass(frozen=True, slots=True)
class SkippedLine:
    """A row of the file that is not a tank, and why."""

    row: int
    why: str
    text: str


@dataclass(frozen=True, slots=True)
class FleetRow:
    """One tank as the file has it."""

    row: int
    code: str
    title: str | None = None
    room: str | None = None
    zone: str | None = None
    place: str | None = None
    order: int | None = None
    length_mm: int | None = None
    width_mm: int | None = None
    height_mm: int | None = None
    glass_mm: int | None = None
    kind_of_glass: str | None = None
    stage: str | None = None
    start_up_week: int | None = None
    flooded_on: date | None = None
    has_co2: bool | None = None
    dose_ul_day: int | None = None
    full_dose_ul: int | None = None
    co2_mg_day: int | None = None
    cylinder_mg: int | None = None
    food_mg_day: int | None = None
    style: str | None = None
    designer: str | None = None
    water_change_ul_week: int | None = None
    evaporation_ul_day: int | None = None
    energy_wh_day: int | None = None
    problems: tuple[CellProblem, ...] = ()
    cells: Mapping[str, str] = field(default_factory=dict)
    """The text of each known column as it stands in the file, by key."""

    @property
    def is_good(self) -> bool:
        return not self.problems


@dataclass(frozen=True, slots=True)
class FleetFile:
    """What one file says: its rows, and what was not read and why."""

    told: str
    heading_row: int
    columns: tuple[Column, ...]
    rows: tuple[FleetRow, ...]
    skipped: tuple[SkippedLine, ...] = ()
    questions: tuple[Question, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def problems(self) -> list[CellProblem]:
        return [problem for row in self.rows for problem in row.problems]

    @property
    def known_columns(self) -> list[Column]:
        return [column for column in self.columns if column.key and not column.left_out]

    @property
    def unknown_columns(self) -> list[Column]:
        return [column for column in self.columns if not column.key or column.left_out]
