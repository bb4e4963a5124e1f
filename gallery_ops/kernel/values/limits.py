"""Which input is refused, and with which words?

The pure rooms raise these two errors; the doors turn them into a form error, a problem document or
a verdict. Each names the field, what is allowed, what came and what to do.

    OutOfRange          a value outside what is allowed
      BadNumber         text that is no number, or that could be read as two different numbers
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

GOT_SHOWN = 60
"""Longest piece of the input that an error repeats [characters]."""


class OutOfRange(ValueError):
    """A value outside what is allowed.

    Parameters
    ----------
    field : the name of the value as people know it, for example "Dose"
    allowed : what is allowed, with its unit, for example "0 to 30 mL"
    got : what came, as typed
    remedy : one sentence: what to do now; may be empty
    """

    def __init__(self, field: str, allowed: str, got: object, remedy: str = "") -> None:
        self.field = field
        self.allowed = allowed
        self.got = _shortened(str(got))
        self.remedy = remedy
        super().__init__(self.sentence)

    @property
    def sentence(self) -> str:
        """Field, what came, what is allowed and the remedy, for people.

        >>> OutOfRange("Dose", "0 to 30 mL", "300 mL", "Check the decimal mark.").sentence
        'Dose: "300 mL" is not allowed. Allowed: 0 to 30 mL. Check the decimal mark.'
        """
        lead = f"{self.field}: " if self.field else ""
        what = f'"{self.got}" is not allowed.' if self.got else "nothing was given."
        return " ".join(
            part for part in (f"{lead}{what}", f"Allowed: {self.allowed}.", self.remedy) if part
        )

    def __reduce__(self) -> tuple[type[OutOfRange], tuple[str, str, str, str]]:
        return type(self), (self.field, self.allowed, self.got, self.remedy)


class BadNumber(OutOfRange):
    """Text that is no number, or that could be read as two different numbers."""


@dataclass(frozen=True, slots=True)
class Limit:
    """An allowed range, both ends included; None is an open end. The unit is only for the words."""

    low: Decimal | int | None
    high: Decimal | int | None
    unit: str = ""

    def __post_init__(self) -> None:
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"low {self.low} lies above high {self.high}")

    def holds(self, value: Decimal | Fraction | float) -> bool:
        """Is the value inside? A NaN never is."""
        if value != value:
            return False
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)

    def check(self, field: str, value: Decimal | Fraction | float, remedy: str = "") -> None:
        """Raise OutOfRange when the value lies outside.

        >>> Limit(0, 14).check("pH", 7)
        """
        if not self.holds(value):
            raise OutOfRange(field, self.words(), f"{value} {self.unit}".strip(), remedy)

    def words(self) -> str:
        """The range for people.

        >>> Limit(0, 30, "mL").words(), Limit(1, None).words(), Limit(None, 40, "°C").words()
        ('0 to 30 mL', '1 or more', '40 °C or less')
        """
        unit = f" {self.unit}" if self.unit else ""
        if self.low is None and self.high is None:
            return "any number"
        if self.low is None:
            return f"{self.high}{unit} or less"
        if self.high is None:
            return f"{self.low}{unit} or more"
        return f"{self.low} to {self.high}{unit}"


def _shortened(text: str) -> str:
    cleaned = "".join(c if c.isprintable() else " " for c in text).strip()
    return cleaned if len(cleaned) <= GOT_SHOWN else cleaned[: GOT_SHOWN - 1] + "…"
