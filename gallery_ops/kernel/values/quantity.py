"""How much is there? Exact amounts in whole base units that add only to their own kind.

Volume counts microlitres, Mass milligrams, Pieces pieces. They are integers in memory, in the
database and on the wire; a float never becomes one. The forecast leaves them by ``in_ml`` and its
like.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction
from typing import ClassVar, Self

from . import units
from .limits import OutOfRange
from .text import parse_decimal, parse_with_unit
from .units import Dimension

__all__ = [
    "MOST",
    "Amount",
    "Dimension",
    "Mass",
    "Pieces",
    "Quantity",
    "Volume",
    "parse_quantity",
    "quantity",
    "split_whole",
    "total_volume",
]

MOST = 2**63 - 1
"""Largest amount that a column holds [base units]."""

Typed = int | str | Decimal | Fraction


class Amount:
    """What Volume, Mass and Pieces have in common. Not made directly."""

    __slots__ = ()

    dimension: ClassVar[Dimension]
    _unit_steps: ClassVar[tuple[tuple[int, str, int], ...]]
    """From the largest: least base units, unit code, decimals that a screen shows below 100."""

    @property
    @abstractmethod
    def base(self) -> int:
        """The amount in base units: µL, mg or pieces."""

    @classmethod
    @abstractmethod
    def of_base(cls, base: int) -> Self:
        """The amount of so many base units."""

    @classmethod
    def of(cls, number: Typed, code: str, *, field: str = "Amount") -> Self:
        """The amount of ``number`` units with UCUM code ``code``; text may hold a decimal comma.

        Raises OutOfRange when it is no whole number of base units or too large, TypeError for a
        float.
        """
        found = units.unit(code)
        if found.dimension is not cls.dimension or found.per_unit is None:
            raise OutOfRange(field, units.allowed_words(cls.dimension), code)
        exact = _exact(number, field) * found.per_unit
        if exact.denominator != 1:
            smallest = units.UNITS[[u.dimension for u in units.UNITS].index(cls.dimension)].shown
            raise OutOfRange(
                field, f"whole {smallest}", f"{number} {found.shown}", "Leave out decimals."
            )
        if abs(exact.numerator) > MOST:
            raise OutOfRange(
                field, "a smaller amount", f"{number} {found.shown}", "Check the number."
            )
        return cls.of_base(exact.numerator)

    # --- arithmetic, only within one kind -------------------------------------------------------
    def _same(self, other: object) -> int:
        if type(other) is not type(self) or not isinstance(other, Amount):
            raise TypeError(f"{type(self).__name__} and {type(other).__name__} do not mix")
        return other.base

    def __add__(self, other: Self) -> Self:
        return self.of_base(self.base + self._same(other))

    def __sub__(self, other: Self) -> Self:
        return self.of_base(self.base - self._same(other))

    def __neg__(self) -> Self:
        return self.of_base(-self.base)

    def __abs__(self) -> Self:
        return self.of_base(abs(self.base))

    def __mul__(self, times: int) -> Self:
        if type(times) is not int:
            raise TypeError("an amount is multiplied by a whole number; use scaled() for a ratio")
        return self.of_base(self.base * times)

    __rmul__ = __mul__

    def __floordiv__(self, other: Self) -> int:
        return self.base // self._same(other)

    def __mod__(self, other: Self) -> Self:
        return self.of_base(self.base % self._same(other))

    def __lt__(self, other: Self) -> bool:
        return self.base < self._same(other)

    def __le__(self, other: Self) -> bool:
        return self.base <= self._same(other)

    def __gt__(self, other: Self) -> bool:
        return self.base > self._same(other)

    def __ge__(self, other: Self) -> bool:
        return self.base >= self._same(other)

    def __bool__(self) -> bool:
        return self.base != 0

    def __str__(self) -> str:
        return self.text()

    def scaled(self, ratio: Fraction | Decimal | int) -> Self:
        """The amount times a ratio, to the nearest base unit, halves to even."""
        return self.of_base(round(self.base * Fraction(ratio)))

    def ratio(self, other: Self) -> Fraction:
        """How many times the other fits in, exactly. Raises ZeroDivisionError for nothing."""
        return Fraction(self.base, self._same(other))

    def split(self, parts: int) -> tuple[Self, ...]:
        """The amount in equal parts that differ by at most one base unit; nothing is lost."""
        return tuple(self.of_base(base) for base in split_whole(self.base, parts))

    # --- words ----------------------------------------------------------------------------------
    def exactly(self, code: str) -> Decimal:
        """The number of units with this code, exactly."""
        found = units.unit(code)
        if found.dimension is not self.dimension or found.per_unit is None:
            raise OutOfRange("Unit", units.allowed_words(self.dimension), code)
        return _divided(self.base, found.per_unit)

    def text(self, mark: str = ".", code: str | None = None) -> str:
        """The exact amount with its unit, in the largest unit that is not smaller than one.

        >>> Volume(2_772).text(), Volume(51_840_000).text(","), Mass(40).text(), Pieces(7).text()
        ('2.772 mL', '51,84 L', '40 mg', '7 pcs')
        """
        code = code or self._fitting()[0]
        return f"{_plain(self.exactly(code), mark)} {units.unit(code).shown}"

    def short(self, mark: str = ".") -> str:
        """The amount rounded as a screen shows it: never for a form, never to calculate with.

        >>> Volume(2_772).short(), Volume(196_499).short(), Volume(51_844_000).short()
        ('2.8 mL', '196 mL', '51.84 L')
        """
        code, decimals = self._fitting()
        number = self.exactly(code)
        if abs(number) >= 100:
            decimals = max(decimals - 1, 0)
        rounded = number.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)
        return f"{_plain(rounded, mark)} {units.unit(code).shown}"

    def _fitting(self) -> tuple[str, int]:
        for least, code, decimals in self._unit_steps:
            if abs(self.base) >= least:
                return code, decimals
        raise AssertionError("the smallest step starts at nothing")


@dataclass(frozen=True, slots=True)
class Volume(Amount):
    """A volume in whole microlitres [µL].

    >>> Volume.ml("12,5") + Volume.l(5)
    Volume(ul=5012500)
    """

    ul: int

    dimension: ClassVar[Dimension] = Dimension.VOLUME
    _unit_steps: ClassVar[tuple[tuple[int, str, int], ...]] = (
        (1_000_000, "L", 2),
        (100, "mL", 1),
        (1, "uL", 0),
        (0, "mL", 1),
    )

    def __post_init__(self) -> None:
        _whole(self.ul)

    @property
    def base(self) -> int:
        return self.ul

    @classmethod
    def of_base(cls, base: int) -> Self:
        return cls(base)

    @classmethod
    def ml(cls, number: Typed) -> Self:
        """So many millilitres [mL]."""
        return cls.of(number, "mL")

    @classmethod
    def l(cls, number: Typed) -> Self:  # noqa: E743  the litre is the unit's name
        """So many litres [L]."""
        return cls.of(number, "L")

    @property
    def in_ml(self) -> float:
        """For estimates only [mL]."""
        return self.ul / 1_000

    @property
    def in_l(self) -> float:
        """For estimates only [L]."""
        return self.ul / 1_000_000


@dataclass(frozen=True, slots=True)
class Mass(Amount):
    """A mass in whole milligrams [mg].

    >>> Mass.g(431) - Mass.g("30,5")
    Mass(mg=400500)
    """

    mg: int

    dimension: ClassVar[Dimension] = Dimension.MASS
    _unit_steps: ClassVar[tuple[tuple[int, str, int], ...]] = (
        (1_000_000, "kg", 2),
        (100, "g", 1),
        (1, "mg", 0),
        (0, "g", 1),
    )

    def __post_init__(self) -> None:
        _whole(self.mg)

    @property
    def base(self) -> int:
        return self.mg

    @classmethod
    def of_base(cls, base: int) -> Self:
        return cls(base)

    @classmethod
    def g(cls, number: Typed) -> Self:
        """So many grams [g]."""
        return cls.of(number, "g")

    @classmethod
    def kg(cls, number: Typed) -> Self:
        """So many kilograms [kg]."""
        return cls.of(number, "kg")

    @property
    def in_g(self) -> float:
        """For estimates only [g]."""
        return self.mg / 1_000

    @property
    def in_kg(self) -> float:
        """For estimates only [kg]."""
        return self.mg / 1_000_000


@dataclass(frozen=True, slots=True)
class Pieces(Amount):
    """A count of pieces."""

    n: int

    dimension: ClassVar[Dimension] = Dimension.PIECE
    _unit_steps: ClassVar[tuple[tuple[int, str, int], ...]] = ((0, "{piece}", 0),)

    def __post_init__(self) -> None:
        _whole(self.n)

    @property
    def base(self) -> int:
        return self.n

    @classmethod
    def of_base(cls, base: int) -> Self:
        return cls(base)


Quantity = Volume | Mass | Pieces

_KINDS: dict[Dimension, type[Volume] | type[Mass] | type[Pieces]] = {
    Dimension.VOLUME: Volume,
    Dimension.MASS: Mass,
    Dimension.PIECE: Pieces,
}


def quantity(dimension: Dimension | str, base: int) -> Quantity:
    """The amount of so many base units in a dimension, as a row stores it.

    >>> quantity("volume", 3_000)
    Volume(ul=3000)
    """
    return _KINDS[Dimension(dimension)].of_base(base)


def parse_quantity(
    text: str,
    dimension: Dimension | str,
    *,
    field: str = "Amount",
    default: str | None = None,
    mark: str | None = None,
) -> Quantity:
    """The amount that a person wrote, "12,5 ml" or "0.5 L".

    Parameters
    ----------
    default : UCUM code for text without a unit; None demands one (pieces never need one)

    Raises OutOfRange or BadNumber with words.

    >>> parse_quantity("12,5", "volume", default="mL"), parse_quantity("2 kg", "mass")
    (Volume(ul=12500), Mass(mg=2000000))
    """
    kind = Dimension(dimension)
    number, typed = parse_with_unit(text, field=field, mark=mark)
    code = default or ("{piece}" if kind is Dimension.PIECE else None)
    if typed:
        code = units.find(typed, field=field, dimension=kind).code
    if code is None:
        raise OutOfRange(field, units.allowed_words(kind), text, "Write the unit after the number.")
    return _KINDS[kind].of(number, code, field=field)


def split_whole(whole: int, parts: int) -> tuple[int, ...]:
    """A whole number in parts that differ by at most one, larger ones first, sum unchanged.

    >>> split_whole(1000, 3), split_whole(-5, 2)
    ((334, 333, 333), (-2, -3))
    """
    if parts < 1:
        raise OutOfRange("Parts", "1 or more", parts)
    each, rest = divmod(whole, parts)
    return tuple(each + (1 if index < rest else 0) for index in range(parts))


def total_volume(volumes: Iterable[Volume]) -> Volume:
    """The sum, also of none."""
    return Volume(sum(volume.ul for volume in volumes))


def _whole(base: object) -> None:
    if type(base) is not int:
        raise TypeError(f"an amount holds whole base units, not {type(base).__name__}")
    if abs(base) > MOST:
        raise OutOfRange("Amount", f"at most {MOST} base units", base, "Check the number.")


def _exact(number: Typed, field: str) -> Fraction:
    if isinstance(number, str):
        return Fraction(parse_decimal(number, field=field))
    if isinstance(number, bool) or not isinstance(number, int | Decimal | Fraction):
        raise TypeError(
            f"an amount is made of text or an exact number, not {type(number).__name__}"
        )
    if isinstance(number, Decimal) and not number.is_finite():
        raise OutOfRange(field, "a finite number", number)
    return Fraction(number)


def _divided(base: int, per_unit: int) -> Decimal:
    with localcontext() as context:
        context.prec = 60
        return Decimal(base) / per_unit


def _plain(number: Decimal, mark: str) -> str:
    text = f"{number:f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return ("0" if text in {"-0", ""} else text).replace(".", mark)
