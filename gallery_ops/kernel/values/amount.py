"""What do all amounts have in common? Whole base units, arithmetic within one kind, and words."""

from __future__ import annotations

from abc import abstractmethod
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction
from typing import ClassVar, Self

from . import units
from .limits import OutOfRange
from .text import parse_decimal
from .units import Dimension

MOST = 2**63 - 1
"""Largest amount that a column holds [base units]."""

Typed = int | str | Decimal | Fraction
"""What an amount is made of: text, or an exact number. Never a float."""


class Amount:
    """A number of base units of one kind. Not made directly: Volume, Mass and Pieces are."""

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

        >>> from gallery_ops.kernel.values.quantity import Mass, Pieces, Volume
        >>> Volume(2_772).text(), Volume(51_840_000).text(","), Mass(40).text(), Pieces(7).text()
        ('2.772 mL', '51,84 L', '40 mg', '7 pcs')
        """
        code = code or self._fitting()[0]
        return f"{_plain(self.exactly(code), mark)} {units.unit(code).shown}"

    def short(self, mark: str = ".") -> str:
        """The amount rounded as a screen shows it: never for a form, never to calculate with.

        >>> from gallery_ops.kernel.values.quantity import Volume
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


def split_whole(whole: int, parts: int) -> tuple[int, ...]:
    """A whole number in parts that differ by at most one, larger ones first, sum unchanged.

    >>> split_whole(1000, 3), split_whole(-5, 2)
    ((334, 333, 333), (-2, -3))
    """
    if parts < 1:
        raise OutOfRange("Parts", "1 or more", parts)
    each, rest = divmod(whole, parts)
    return tuple(each + (1 if index < rest else 0) for index in range(parts))


def check_base(base: object) -> None:
    """Raise unless this is a whole number that a column holds."""
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
