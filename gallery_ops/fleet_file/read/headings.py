"""What does a heading mean, and which unit does it name?

"Länge (mm)", "Height cm", "dims_cm", "CO2 g/day" and "Dünger [ml pro Tag]" each hold a
word and a unit. The word is looked up as it stands first, then without units at its end,
then without any unit or filler. A heading that is not found is unknown: nothing is guessed
from likeness.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from gallery_ops.fleet_file.read.types import Cell, Column, Line
from gallery_ops.fleet_file.read.vocabulary import column_kinds, heading_words, plain, words

_TOKEN = re.compile(r"[^\W_]+", re.UNICODE)
_BRACKETS = re.compile(r"[(\[{]([^)\]}]*)[)\]}]")
FITTING_UNITS = {
    "length": {"mm", "cm", "m", "in"},
    "dims": {"mm", "cm", "m", "in"},
    "volume": {"uL", "mL", "cL", "L"},
    "mass": {"mg", "g", "kg"},
    "energy": {"Wh", "kWh"},
}


@dataclass(frozen=True, slots=True)
class Meaning:
    """A heading understood: which column, in which unit, per what."""

    key: str
    unit: str = ""
    per: str = ""


def meaning(heading: str) -> Meaning | None:
    """The column that a heading means, or None where it is not known."""
    text = plain(heading)
    inside = " ".join(_BRACKETS.findall(text))
    tokens = _TOKEN.findall(_BRACKETS.sub(" ", text))
    key, spare = _look_up(tokens)
    if not key:
        key, spare = _look_up(_TOKEN.findall(text))
    if not key:
        return None
    return _with_unit(key, _TOKEN.findall(inside) + spare, text)


def _look_up(tokens: list[str]) -> tuple[str, list[str]]:
    """The key, and the tokens that were taken off to find it."""
    known, extra = heading_words(), words()
    off = extra.units.keys() | extra.per.keys() | extra.fillers
    for cut in range(len(tokens), 0, -1):
        if cut < len(tokens) and tokens[cut] not in off:
            break
        if key := known.get(" ".join(tokens[:cut])):
            return key, tokens[cut:]
    rest = [token for token in tokens if token not in off]
    key = known.get(" ".join(rest), "")
    return key, [token for token in tokens if token in off]


def _with_unit(key: str, spare: list[str], text: str) -> Meaning:
    table = words()
    fitting = FITTING_UNITS.get(column_kinds()[key].kind, set[str]())
    units = [table.units[token] for token in spare if token in table.units]
    if '"' in text or "″" in text:
        units.append("in")
    fits = [unit for unit in units if unit in fitting]
    # "in" is also a preposition: "Länge in cm".
    unit = next((unit for unit in fits if unit != "in"), "in" if "in" in fits else "")
    per = next((table.per[token] for token in spare if token in table.per), "")
    return Meaning(key, unit, per)


def letter(index: int) -> str:
    """The name of a column as a spreadsheet shows it: 0 is A, 26 is AA."""
    name = ""
    index += 1
    while index:
        index, place = divmod(index - 1, 26)
        name = chr(65 + place) + name
    return name


def known_headings(line: Line) -> int:
    """How many different columns the cells of a line name."""
    found = {known.key for cell in line.cells if (known := _of_cell(cell))}
    return len(found)


def _of_cell(cell: Cell) -> Meaning | None:
    return meaning(cell.text) if cell.text and len(cell.text) <= 80 else None


def columns_of(line: Line, units: Line | None, chosen: dict[str, str]) -> list[Column]:
    """The columns of a heading line.

    units : a second line that holds only units, or None. chosen : letter -> key, what a
    person said that a column means; an empty key leaves the column out.
    """
    columns = []
    for index, cell in enumerate(line.cells):
        if cell.is_blank:
            continue
        name = letter(index)
        known = _of_cell(cell)
        if name in chosen:
            key = chosen[name]
            known = _with_unit(key, _TOKEN.findall(plain(cell.text)), "") if key else None
        columns.append(_column(index, name, cell, known, units))
    return columns


def _column(index: int, name: str, cell: Cell, known: Meaning | None, units: Line | None) -> Column:
    if known is None:
        return Column(index, name, cell.text)
    kind = column_kinds()[known.key]
    unit, source = known.unit, "heading" if known.unit else ""
    if not unit and units is not None and (below := unit_only(units.cell(index).text)):
        unit, source = below.unit, "the row below the heading"
        known = Meaning(known.key, unit, below.per)
    left_out = ""
    if known.per and kind.per and known.per != kind.per:
        left_out = f"it is per {known.per}, and a plan wants an amount per {kind.per}"
    return Column(index, name, cell.text, known.key, unit, source, left_out)


def unit_only(text: str) -> Meaning | None:
    """A cell that holds a unit and nothing else, as "mm", "(g/Tag)"; else None."""
    tokens = _TOKEN.findall(plain(text))
    table = words()
    rest = [t for t in tokens if t not in table.per and t not in table.fillers | {"in"}]
    if len(rest) != 1 or rest[0] not in table.units:
        return None
    per = next((table.per[token] for token in tokens if token in table.per), "")
    return Meaning("", table.units[rest[0]], per)
