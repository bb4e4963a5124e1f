"""Every row of the tables about water, gas and glass, and what became of it.

``python -m tests.tanks.science.outside_rows`` writes tests/outside/ACCOUNT.md anew.
"""

from __future__ import annotations

import csv
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from tests.tanks.science.answers_house import HOUSE
from tests.tanks.science.answers_water import WATER, Answer, Row

OUTSIDE = Path(__file__).parents[2] / "outside"
ACCOUNT = OUTSIDE / "ACCOUNT.md"
TABLES = {**WATER, **HOUSE}
KINDS = {
    "published": "a number printed in a table or a worked example: validation",
    "library": "another library, or another set of data in it: validation",
    "numerical": "another numerical way, the same physics: finds slips, no wrong model",
    "spread-only": "two kinds of water beside each other: shows scatter, proves nothing",
    "same-arithmetic": "the same sum in another form: finds typing slips only",
    "none": "one value, no second one",
}
SECOND_COUNTS = {"published", "library", "numerical"}
EIGHT_FIGURES = 5e-8
"""The tables are printed to eight figures [relative]."""


@dataclass(frozen=True)
class Outcome:
    """A row, what was answered, and what is wrong with it ("" when it holds)."""

    table: str
    row: Row
    answer: Answer
    wrong: str

    @property
    def is_listed(self) -> bool:
        return isinstance(self.answer, str)


def rows(table: str) -> list[Row]:
    text = (OUTSIDE / f"{table}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def outcome(table: str, row: Row) -> Outcome:
    """Both values of a row are held against the answer where the second is a check of its own."""
    answer = TABLES[table][row["quantity"]](row)
    if isinstance(answer, str):
        return Outcome(table, row, answer, "")
    beside = [row["expected"]]
    if row["check_kind"] in SECOND_COUNTS:
        beside.append(row["check2"])
    wrong = [text for text in beside if not _is_near(answer, float(text), row)]
    said = f"{row['quantity']}: {answer!r} beside {wrong}" if wrong else ""
    return Outcome(table, row, answer, said)


def _is_near(answer: float, expected: float, row: Row) -> bool:
    allowed = float(row["tolerance"]) * (abs(expected) if row["tol_kind"] == "rel" else 1)
    return abs(answer - expected) <= allowed + EIGHT_FIGURES * abs(expected)


def outcomes(table: str) -> list[Outcome]:
    return [outcome(table, row) for row in rows(table)]


def account() -> str:
    """The tables in words: by file, by kind, and each row that is not answered."""
    done = {table: outcomes(table) for table in sorted(TABLES)}
    every = [one for table in done.values() for one in table]
    assert not [one.wrong for one in every if one.wrong], "put the rows right first"
    kinds = Counter(one.row["check_kind"] for one in every if not one.is_listed)
    listed = Counter(one.row["check_kind"] for one in every if one.is_listed)
    out = [
        "# Account of the check tables",
        "",
        f"{len(every)} rows in {len(done)} files: {sum(kinds.values())} answered within their "
        f"tolerance, {sum(listed.values())} listed below with the reason why nothing is answered. "
        f"{sum(kinds[k] for k in ('published', 'library'))} of those answered are validation from "
        "outside the formula; the rest finds slips, or shows that it was written down as meant.",
        "",
        "Made by `python -m tests.tanks.science.outside_rows`; a test holds it to the tables.",
        "",
        "| kind of second value | answered | listed | what it is worth |",
        "|---|---|---|---|",
        *(
            f"| {kind} | {kinds[kind]} | {listed[kind]} | {words} |"
            for kind, words in KINDS.items()
        ),
        "",
        "| file | rows | answered | listed | " + " | ".join(KINDS) + " |",
        "|---" * (4 + len(KINDS)) + "|",
        *(_line(table, ones) for table, ones in done.items()),
        "",
        "## Listed",
        "",
        *(
            f"- `{one.table}.csv`, {one.row['quantity']} ({one.row['expected']} "
            f"{one.row['unit']}): {one.answer}."
            for one in every
            if one.is_listed
        ),
    ]
    return "\n".join(out) + "\n"


def _line(table: str, ones: list[Outcome]) -> str:
    silent = sum(one.is_listed for one in ones)
    kinds = Counter(one.row["check_kind"] for one in ones)
    counts = (len(ones), len(ones) - silent, silent, *(kinds[kind] for kind in KINDS))
    return f"| {table}.csv | " + " | ".join(str(n) for n in counts) + " |"


if __name__ == "__main__":
    ACCOUNT.write_text(account(), encoding="utf-8")
