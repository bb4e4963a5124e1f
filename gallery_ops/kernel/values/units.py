"""Which unit is meant, how is it shown, and how much of the base unit is one of it?

Codes are those of UCUM (The Unified Code for Units of Measure, https://ucum.org), so that a reading
can leave the house and still be understood. What people write differs more than that, hence the
other spellings. Degrees of hardness have no UCUM code; UCUM allows an annotation in braces for such
a case.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from .limits import OutOfRange


class Dimension(StrEnum):
    """What an item is counted in. The base units are microlitre, milligram and piece."""

    VOLUME = "volume"
    MASS = "mass"
    PIECE = "piece"


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit.

    Parameters
    ----------
    code : UCUM code, as stored and sent
    shown : as people read it
    dimension : of what a stock amount is counted in; None for a unit of readings or lengths only
    per_unit : base units in one of it; None without a dimension
    spellings : other ways in which people write it, compared without case
    """

    code: str
    shown: str
    dimension: Dimension | None = None
    per_unit: int | None = None
    spellings: tuple[str, ...] = ()


UNITS: tuple[Unit, ...] = (
    Unit("uL", "µL", Dimension.VOLUME, 1, ("ul", "mcl", "microlitre", "microlitres", "mikroliter")),
    Unit(
        "mL",
        "mL",
        Dimension.VOLUME,
        1_000,
        ("ml", "cc", "ccm", "millilitre", "millilitres", "milliliter"),
    ),
    Unit("cL", "cL", Dimension.VOLUME, 10_000, ("cl", "centilitre", "zentiliter")),
    Unit(
        "L",
        "L",
        Dimension.VOLUME,
        1_000_000,
        ("l", "ltr", "lt", "litre", "litres", "liter", "liters"),
    ),
    Unit("mg", "mg", Dimension.MASS, 1, ("milligram", "milligrams", "milligramm")),
    Unit("g", "g", Dimension.MASS, 1_000, ("gr", "gram", "grams", "gramm")),
    Unit(
        "kg",
        "kg",
        Dimension.MASS,
        1_000_000,
        ("kilo", "kilos", "kilogram", "kilograms", "kilogramm"),
    ),
    Unit(
        "{piece}", "pcs", Dimension.PIECE, 1, ("pc", "pcs", "piece", "pieces", "stk", "stück", "st")
    ),
    Unit("mm", "mm", spellings=("millimetre", "millimetres", "millimeter")),
    Unit("cm", "cm", spellings=("centimetre", "centimetres", "zentimeter", "centimeter")),
    Unit("m", "m", spellings=("metre", "metres", "meter")),
    Unit("Cel", "°C", spellings=("c", "celsius", "degc", "grad c")),
    Unit("[pH]", "pH", spellings=("ph",)),
    Unit("mg/L", "mg/L", spellings=("mg/l", "ppm", "mg l-1")),
    Unit("g/L", "g/L", spellings=("g/l",)),
    Unit("g/mL", "g/mL", spellings=("g/ml", "g/cm3", "g/cm³")),
    Unit("uS/cm", "µS/cm", spellings=("us/cm", "ms/m*10")),
    Unit("mS/cm", "mS/cm", spellings=("ms/cm",)),
    Unit("{dKH}", "°dKH", spellings=("dkh", "kh", "°kh")),
    Unit("{dGH}", "°dGH", spellings=("dgh", "gh", "°gh", "°dh", "dh")),
    Unit(
        "umol/m2/s", "µmol/m²/s", spellings=("umol/(m2.s)", "µmol/(m²·s)", "umol m-2 s-1", "ppfd")
    ),
    Unit("lx", "lx", spellings=("lux",)),
    Unit("W", "W", spellings=("watt", "watts")),
    Unit("h", "h", spellings=("hour", "hours", "std", "stunde", "stunden")),
    Unit("min", "min", spellings=("minute", "minutes", "minuten")),
    Unit("d", "days", spellings=("day", "days", "tag", "tage")),
    Unit("%", "%", spellings=("percent", "prozent")),
    Unit("[ppm]", "ppm by volume", spellings=("ppmv",)),
    Unit("bar", "bar", spellings=("bars",)),
)

_BY_CODE = {unit.code: unit for unit in UNITS}


def _key(text: str) -> str:
    return (
        unicodedata.normalize("NFKC", text)
        .strip()
        .rstrip(".")
        .replace("\u03bc", "u")
        .replace("µ", "u")
    )


def _spelt() -> dict[str, Unit]:
    spelt: dict[str, Unit] = {}
    for unit in UNITS:
        for word in (unit.code, unit.shown, *unit.spellings):
            spelt.setdefault(_key(word).casefold(), unit)
    return spelt


_BY_SPELLING = _spelt()


def unit(code: str) -> Unit:
    """The unit with exactly this code. Raises OutOfRange for one that the house does not know."""
    try:
        return _BY_CODE[code]
    except KeyError:
        raise OutOfRange("Unit", "a unit code of the house", code) from None


def find(text: str, *, field: str = "Unit", dimension: Dimension | None = None) -> Unit:
    """The unit that a person wrote.

    Exact codes win; otherwise spelling without case. With a dimension, only its units are taken.

    >>> find("ML").code, find("Gramm").code, find("µl").code
    ('mL', 'g', 'uL')
    """
    found = _BY_CODE.get(_key(text)) or _BY_SPELLING.get(_key(text).casefold())
    if found is None or (dimension is not None and found.dimension is not dimension):
        raise OutOfRange(field, allowed_words(dimension), text, "Write one of these units.")
    return found


def allowed_words(dimension: Dimension | None) -> str:
    """The units of a dimension, for an error.

    >>> allowed_words(Dimension.MASS)
    'mg, g, kg'
    """
    return ", ".join(u.shown for u in UNITS if dimension is None or u.dimension is dimension)


def length_mm(number: Fraction | int, code: str) -> Fraction:
    """A length in millimetres [mm], from a number and the code mm, cm or m.

    >>> length_mm(Fraction(605, 10), "cm")
    Fraction(605, 1)
    """
    factors = {"mm": 1, "cm": 10, "m": 1000}
    if code not in factors:
        raise OutOfRange("Length", "mm, cm or m", code)
    return Fraction(number) * factors[code]
