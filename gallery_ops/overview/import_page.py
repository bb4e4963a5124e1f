"""What does the import page show of a dry run?

The sentence first, then every tank to scale, each wrong row beside its neighbour, what would
change, what is asked, and which columns are left out.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

from django.utils.translation import gettext as _

from gallery_ops.drawing import Outline, outlines, outlines_length
from gallery_ops.fleet_file import words
from gallery_ops.fleet_file.plan import Change, FleetPlan, RowPlan
from gallery_ops.fleet_file.read import CellProblem, Column, FleetRow, column_choices

MOST_AT_A_DESK = 200
"""Tanks that a page writes in one press: more would keep a round waiting for the database."""
FIRST_PROBLEMS = 20
FIRST_CHANGES = 60
ON_A_FLOOR = 24
FLOORS = 8
SHORTEST_FLOOR = 1400.0
"""So that three tanks are not drawn larger than twenty [cm of the drawing]."""
MOST_COLUMNS = 6
_BESIDE = ("code", "title", "dims", "length", "width", "height", "glass", "room")


@dataclass(frozen=True, slots=True)
class Quoted:
    """A cell as it stands in the file; ``is_wrong`` frames it."""

    text: str
    is_wrong: bool


@dataclass(frozen=True, slots=True)
class WrongRow:
    """One row that cannot come in: what to do, and its cells below those of a neighbour."""

    row: int
    problems: list[CellProblem]
    headings: list[str]
    lines: list[tuple[int, list[Quoted]]]


@dataclass(frozen=True, slots=True)
class ChangedTank:
    """What would change on one tank."""

    code: str
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class ImportPage:
    """A dry run, ready to be shown."""

    plan: FleetPlan
    good: int
    wrong: int
    new: int
    changed: int
    same: int
    floors: list[str]
    undrawn: int
    new_codes: str
    wrong_rows: list[WrongRow]
    more_problems: int
    changes: list[ChangedTank]
    more_changes: int

    @property
    def writes(self) -> int:
        """Tanks that the button would write."""
        return self.new + self.changed

    @property
    def is_too_many(self) -> bool:
        """Is it more than a page should write while others work?"""
        return self.writes > MOST_AT_A_DESK


def import_page(plan: FleetPlan) -> ImportPage:
    """Put a plan in the order in which it is read."""
    refused, changed = plan.of("refused"), plan.of("changed")
    floors, undrawn = _floors(plan)
    return ImportPage(
        plan=plan,
        good=len(plan.rows) - len(refused),
        wrong=len(refused),
        new=len(plan.of("new")),
        changed=len(changed),
        same=len(plan.of("same")),
        floors=floors,
        undrawn=undrawn,
        new_codes=_codes(plan.of("new")),
        wrong_rows=[_wrong_row(row.row, plan) for row in refused[:FIRST_PROBLEMS]],
        more_problems=max(0, len(refused) - FIRST_PROBLEMS),
        changes=[ChangedTank(row.row.code, row.changes) for row in changed[:FIRST_CHANGES]],
        more_changes=max(0, len(changed) - FIRST_CHANGES),
    )


def _floors(plan: FleetPlan) -> tuple[list[str], int]:
    """Outlines on as many floors as they need, all to one scale; and how many are not drawn."""
    shown = plan.rows[: ON_A_FLOOR * FLOORS]
    rows = [Outline(p.row.code or f"{p.row.row}", *p.sizes_mm, p.fate) for p in shown]
    split = [rows[at : at + ON_A_FLOOR] for at in range(0, len(rows), ON_A_FLOOR)]
    length = max(SHORTEST_FLOOR, *(outlines_length(floor) for floor in split))
    drawn = [
        outlines(floor, label=_floor_label(floor, at, len(split)), length=length)
        for at, floor in enumerate(split, start=1)
    ]
    return drawn, len(plan.rows) - len(shown)


def _floor_label(floor: list[Outline], at: int, floors: int) -> str:
    label = _("%(count)d outlines to scale.") % {"count": len(floor)}
    refused = [row.code for row in floor if row.fate == "refused"]
    changed = [row.code for row in floor if row.fate == "changed"]
    if refused:
        label += " " + _("Dashed and struck: %(codes)s.") % {"codes": ", ".join(refused)}
    if changed:
        label += " " + _("With a waterline: %(codes)s.") % {"codes": ", ".join(changed)}
    return f"{label} {at} / {floors}" if floors > 1 else label


def _codes(rows: list[RowPlan]) -> str:
    """Codes in runs of the list: "T01 to T06, T08"."""
    runs: list[list[RowPlan]] = []
    for row in rows:
        if runs and runs[-1][-1].row.row == row.row.row - 1:
            runs[-1].append(row)
        else:
            runs.append([row])
    spans = []
    for run in runs:
        first, last = run[0].row.code, run[-1].row.code
        if len(run) > 2:
            spans.append(_("%(first)s to %(last)s") % {"first": first, "last": last})
        else:
            spans += [row.row.code for row in run]
    return ", ".join(spans[:20]) + (" …" if len(spans) > 20 else "")


def _wrong_row(row: FleetRow, plan: FleetPlan) -> WrongRow:
    wrong = {problem.letter for problem in row.problems}
    columns = _beside(plan, wrong)
    neighbour = _neighbour(row, plan)
    rows = sorted([row, *([neighbour] if neighbour else [])], key=lambda each: each.row)
    return WrongRow(
        row=row.row,
        problems=list(row.problems),
        headings=[f"{column.letter} {column.heading}" for column in columns],
        lines=[
            (
                each.row,
                [
                    Quoted(
                        each.cells.get(column.key, ""),
                        each.row == row.row and column.letter in wrong,
                    )
                    for column in columns
                ],
            )
            for each in rows
        ],
    )


def _beside(plan: FleetPlan, wrong: set[str]) -> list[Column]:
    """The wrong columns, and of the others those by which a tank is known."""
    known = plan.file.known_columns
    chosen = [column for column in known if column.letter in wrong]
    for key in _BESIDE:
        chosen += [
            c for c in known if c.key == key and c not in chosen and len(chosen) < MOST_COLUMNS
        ]
    return sorted(chosen, key=lambda column: column.index)


def _neighbour(row: FleetRow, plan: FleetPlan) -> FleetRow | None:
    """The row that it contradicts, else the one before it, else the one after."""
    other = next((problem.other_row for problem in row.problems if problem.other_row), None)
    rows = [each.row for each in plan.rows]
    if other is not None:
        return next((each for each in rows if each.row == other), None)
    at = next(place for place, each in enumerate(rows) if each.row == row.row)
    return rows[at - 1] if at else (rows[1] if len(rows) > 1 else None)


def problems_csv(plan: FleetPlan) -> str:
    """Every problem as a table; a cell that a spreadsheet would compute is held as text."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";")
    writer.writerow(["row", "column", "heading", "it says", "what is wrong", "example"])
    for problem in plan.problems:
        cells = (
            problem.letter,
            problem.heading,
            problem.quoted,
            problem.allowed,
            problem.example,
        )
        writer.writerow([problem.row, *(_as_text(cell) for cell in cells)])
    return out.getvalue()


def _as_text(cell: str) -> str:
    return f"'{cell}" if cell[:1] in {"=", "+", "-", "@", "\t", "\r"} else cell


def column_names() -> list[tuple[str, str]]:
    """What a column may be said to mean: key and words, for a choice."""
    return [(key, words.column_word(key)) for key in column_choices()]
