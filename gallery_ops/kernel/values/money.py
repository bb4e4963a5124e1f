"""How much does it cost? Whole minor units of one currency, never a float.

A currency's number of decimals is that of ISO 4217; only those that differ from two are listed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Self

from .amount import MOST, split_whole
from .limits import OutOfRange
from .text import parse_decimal

# ISO 4217, list one: minor units that are not two; from memory, the ones a gallery may meet.
_DECIMALS = {"JPY": 0, "KRW": 0, "ISK": 0, "CLP": 0, "HUF": 2, "KWD": 3, "BHD": 3, "TND": 3}
_CODE = re.compile(r"[A-Z]{3}\Z")


def decimals(currency: str) -> int:
    """Decimals of the currency: 2 unless ISO 4217 says otherwise."""
    return _DECIMALS.get(currency, 2)


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in whole minor units (cents, pence) of one currency.

    >>> Money(1000, "EUR").split(3)  # doctest: +ELLIPSIS
    (Money(cents=334, ...), Money(cents=333, ...), Money(cents=333, ...))
    """

    cents: int
    currency: str

    def __post_init__(self) -> None:
        if type(self.cents) is not int:
            raise TypeError(f"money holds whole minor units, not {type(self.cents).__name__}")
        if abs(self.cents) > MOST:
            raise OutOfRange(
                "Price", f"at most {MOST} minor units", self.cents, "Check the number."
            )
        if not _CODE.match(self.currency):
            raise OutOfRange("Currency", "a code of three letters such as EUR", self.currency)

    @classmethod
    def parse(
        cls, text: str, currency: str, *, field: str = "Price", mark: str | None = None
    ) -> Self:
        """What a person wrote, without the currency's sign.

        >>> Money.parse("12,50", "EUR")
        Money(cents=1250, currency='EUR')
        """
        number = parse_decimal(text, field=field, mark=mark)
        exact = Fraction(number) * 10 ** decimals(currency)
        if exact.denominator != 1:
            places = decimals(currency)
            raise OutOfRange(field, f"at most {places} decimals in {currency}", text, "Round it.")
        return cls(exact.numerator, currency)

    def _same(self, other: object) -> int:
        if not isinstance(other, Money):
            raise TypeError(f"Money and {type(other).__name__} do not mix")
        if other.currency != self.currency:
            raise TypeError(f"{self.currency} and {other.currency} do not mix")
        return other.cents

    def __add__(self, other: Money) -> Money:
        return Money(self.cents + self._same(other), self.currency)

    def __sub__(self, other: Money) -> Money:
        return Money(self.cents - self._same(other), self.currency)

    def __neg__(self) -> Money:
        return Money(-self.cents, self.currency)

    def __mul__(self, times: int) -> Money:
        if type(times) is not int:
            raise TypeError("money is multiplied by a whole number; use scaled() for a ratio")
        return Money(self.cents * times, self.currency)

    __rmul__ = __mul__

    def __lt__(self, other: Money) -> bool:
        return self.cents < self._same(other)

    def __le__(self, other: Money) -> bool:
        return self.cents <= self._same(other)

    def __gt__(self, other: Money) -> bool:
        return self.cents > self._same(other)

    def __ge__(self, other: Money) -> bool:
        return self.cents >= self._same(other)

    def __bool__(self) -> bool:
        return self.cents != 0

    def __str__(self) -> str:
        return self.text()

    def scaled(self, ratio: Fraction | Decimal | int) -> Money:
        """The amount times a ratio, to the nearest minor unit, halves to even."""
        return Money(round(self.cents * Fraction(ratio)), self.currency)

    def split(self, parts: int) -> tuple[Money, ...]:
        """Equal parts that differ by at most one minor unit; nothing is lost."""
        return tuple(Money(cents, self.currency) for cents in split_whole(self.cents, parts))

    def text(self, mark: str = ".") -> str:
        """The amount with all its decimals and its currency code.

        >>> Money(1250, "EUR").text(","), Money(-5, "EUR").text(), Money(800, "JPY").text()
        ('12,50 EUR', '-0.05 EUR', '800 JPY')
        """
        number = Decimal(self.cents).scaleb(-decimals(self.currency))
        return f"{number:f}".replace(".", mark) + f" {self.currency}"
