"""How much does a cell say, in whole base units?

Millimetres for lengths, microlitres for volumes, milligrams for masses, watt-hours for
energy. Numbers are read by the house's own parser, so a decimal comma and a point both
hold and marks between thousands are refused.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal

from gallery_ops.fleet_file.read.headings import FITTING_UNITS
from gallery_ops.fleet_file.read.types import Cell, CellKind
from gallery_ops.fleet_file.read.vocabulary import plain, words
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.text import parse_with_unit
from gallery_ops.kernel.values.units import UNITS

_BASE = {unit.code: Decimal(unit.per_unit) for unit in UNITS if unit.per_unit} | {
    "mm": Decimal(1),
    "cm": Decimal(10),
    "m": Decimal(1000),
    "in": Decimal("25.4"),
    "Wh": Decimal(1),
    "kWh": Decimal(1000),
}
_BASE_WORDS = {"length": "mm", "dims": "mm", "volume": "µL", "mass": "mg", "energy": "Wh"}
_TIMES = re.compile(r"\s*(?:[x×*/]|\bmal\b|\bby\b)\s*", re.IGNORECASE)
_PER = re.compile(r"\s*(?:/|per|pro|je|a)\s*(?:day|d|tag|week|woche|wk)\.?$", re.IGNORECASE)


def split_amount(cell: Cell, field: str, mark: str | None) -> tuple[Decimal, str]:
    """The number in a cell and the code of the unit beside it ("" where none stands).

    Raises OutOfRange for a date, a formula, text without a number, or an unknown unit.
    """
    if cell.kind is CellKind.DATE:
        raise OutOfRange(
            field, "a number", cell.text, "The spreadsheet made a date of it: write the number."
        )
    if cell.kind is CellKind.FORMULA or cell.text.startswith("="):
        raise OutOfRange(
            field, "a number", cell.text, "It is a formula: write the number that it shows."
        )
    text = _PER.sub("", cell.text)
    if cell.number is not None:
        tail = text.lstrip("+-0123456789.").strip()
        return cell.number, _unit(tail, field)
    number, tail = parse_with_unit(text, field=field, mark=mark)
    return number, _unit(tail, field)


def _unit(text: str, field: str) -> str:
    if not text:
        return ""
    code = words().units.get(plain(text).rstrip("."))
    if code is None:
        raise OutOfRange(field, "a number and a known unit", text, "Write one number and its unit.")
    return code


def split_dims(cell: Cell, field: str, mark: str | None) -> tuple[tuple[Decimal, ...], str]:
    """Three numbers of a cell as "60x30x36 cm", and the unit ("" where none stands).

    A unit after the last number holds for all; units after each must agree.
    """
    parts = _TIMES.split(cell.text.strip())
    if len(parts) != 3 or cell.kind is not CellKind.TEXT:
        raise OutOfRange(field, "three numbers: length x width x height", cell.text)
    amounts = [split_amount(Cell(part, CellKind.TEXT), field, mark) for part in parts]
    units = {unit for _, unit in amounts if unit}
    if len(units) > 1 or (units and not amounts[-1][1]):
        raise OutOfRange(field, "one unit for all three numbers", cell.text)
    return tuple(number for number, _ in amounts), units.pop() if units else ""


def is_dims(cell: Cell) -> bool:
    """Does a cell look like length x width x height?"""
    try:
        split_dims(cell, "", None)
    except OutOfRange:
        return False
    return True


def in_base(amount: Decimal, unit: str, kind: str, field: str) -> int:
    """An amount in whole base units. Inches are rounded to the millimetre, nothing else is.

    Raises OutOfRange where the unit does not fit, or where the amount is finer than the
    base unit.
    """
    fitting = FITTING_UNITS[kind]
    if unit not in fitting:
        raise OutOfRange(field, "one of " + ", ".join(sorted(fitting)), unit)
    exact = amount * _BASE[unit]
    if unit == "in":
        exact = exact.quantize(Decimal(1), rounding=ROUND_HALF_UP)
    if exact != exact.to_integral_value():
        raise OutOfRange(field, f"whole {_BASE_WORDS[kind]}", f"{amount} {unit}", "Round it.")
    return int(exact)


def shown(base: int | Decimal, unit: str) -> str:
    """A base amount in a unit, as people write it: shown(360, "cm") is "36"."""
    text = f"{Decimal(base) / _BASE[unit]:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def factor(unit: str) -> Decimal:
    """Base units in one of this unit."""
    return _BASE[unit]
