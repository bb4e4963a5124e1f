"""How much is there? Exact amounts in whole base units that add only to their own kind.

Volume counts microlitres, Mass milligrams, Pieces pieces. They are integers in memory, in the
database and on the wire; a float never becomes one. The forecast leaves them by ``in_ml`` and its
like.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar, Self

from . import units
from .amount import MOST, Amount, Typed, check_base, split_whole
from .limits import OutOfRange
from .text import parse_with_unit
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
        check_base(self.ul)

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
        (10_000, "g", 1),
        (100, "g", 2),
        (1, "mg", 0),
        (0, "g", 1),
    )

    def __post_init__(self) -> None:
        check_base(self.mg)

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
        check_base(self.n)

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


def total_volume(volumes: Iterable[Volume]) -> Volume:
    """The sum, also of none."""
    return Volume(sum(volume.ul for volume in volumes))
