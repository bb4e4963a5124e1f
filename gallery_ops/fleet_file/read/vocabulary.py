"""Which words of an owner's list do we know?

Read once from the two tables beside this file; nothing here decides.
"""

from __future__ import annotations

import tomllib
import unicodedata
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from importlib.resources import files
from typing import Any

from gallery_ops.kernel.values.units import UNITS, Dimension

_LETTERS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "μ": "µ", "’": "'", "\u00ad": None})


@dataclass(frozen=True, slots=True)
class ColumnKind:
    """One thing that a list may say of a tank."""

    key: str
    kind: str
    words: frozenset[str]
    example: str
    unit: str = ""
    per: str = ""
    least: Decimal = Decimal(0)
    most: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Words:
    """The words that are not headings."""

    totals: frozenset[str]
    blank: frozenset[str]
    stages: dict[str, str]
    styles: dict[str, str]
    kinds_of_glass: dict[str, str]
    units: dict[str, str]
    per: dict[str, str]
    fillers: frozenset[str]


def plain(text: str) -> str:
    """Lower case, compatibility forms folded, umlauts written out, white space single."""
    folded = unicodedata.normalize("NFKC", text).casefold().translate(_LETTERS)
    return " ".join(folded.split())


@cache
def column_kinds() -> dict[str, ColumnKind]:
    """The known columns by key."""
    return {key: _column_kind(key, entry) for key, entry in _table("columns.toml").items()}


def _column_kind(key: str, entry: dict[str, Any]) -> ColumnKind:
    return ColumnKind(
        key=key,
        kind=entry["kind"],
        words=frozenset(entry["words"]),
        example=entry["example"],
        unit=entry.get("unit", ""),
        per=entry.get("per", ""),
        least=Decimal(entry.get("least", 0)),
        most=Decimal(entry.get("most", 0)),
    )


@cache
def heading_words() -> dict[str, str]:
    """Every known heading and the column that it means."""
    return {word: kind.key for kind in column_kinds().values() for word in kind.words}


@cache
def words() -> Words:
    """The words for totals, blanks, stages, units and periods."""
    table = _table("words.toml")
    return Words(
        totals=frozenset(table["totals"]["words"]),
        blank=frozenset(table["blank"]["words"]),
        stages=_turned(table["stages"]),
        styles=_turned(table["styles"]),
        kinds_of_glass=_turned(table["kinds_of_glass"]),
        units=_house_units() | _turned(table["units"]),
        per=_turned(table["per"]),
        fillers=frozenset(table["fillers"]["words"]),
    )


def _table(name: str) -> dict[str, Any]:
    text = files("gallery_ops.fleet_file.read").joinpath(name).read_text(encoding="utf-8")
    return tomllib.loads(text)


def _turned(table: dict[str, list[str]]) -> dict[str, str]:
    return {plain(word): meaning for meaning, spellings in table.items() for word in spellings}


def _house_units() -> dict[str, str]:
    """Spelling -> code for the house's units of volume, mass and length."""
    wanted = [
        unit
        for unit in UNITS
        if unit.dimension in {Dimension.VOLUME, Dimension.MASS} or unit.code in {"mm", "cm", "m"}
    ]
    return {
        plain(word): unit.code
        for unit in wanted
        for word in (unit.code, unit.shown, *unit.spellings)
    }
