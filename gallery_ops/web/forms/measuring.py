"""What people type when they measure, read once for all forms: comma and point are both decimal."""

from __future__ import annotations

from decimal import Decimal

from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import Mass, Quantity, parse_quantity, quantity
from gallery_ops.kernel.values.text import parse_decimal
from gallery_ops.kernel.values.units import Dimension
from gallery_ops.web.words import mark_in_use

MOST_BASE = 10**9
SHOWN_UNIT = {"volume": "mL", "mass": "g", "piece": "pcs"}
_KINDS = {"volume": 1_000, "mass": 1_000, "piece": 1}


def typed_mass(text: str, field: str) -> Mass:
    """A mass in grams. Raises OutOfRange or BadNumber with words."""
    found = typed_amount(text, "mass", field)
    return Mass(found.base)


def typed_amount(text: str, dimension: str, field: str) -> Quantity:
    """An amount in mL, g or pieces, 0 or more; a unit of the same dimension may stand behind it.

    Raises OutOfRange or BadNumber with words; for a unit that this is not measured in too.
    """
    unit = SHOWN_UNIT[dimension]
    if any(letter.isalpha() for letter in text):
        base = Decimal(parse_quantity(text, dimension, field=field, mark=mark_in_use()).base)
    else:
        base = parse_decimal(text, field=field, mark=mark_in_use()) * _KINDS[dimension]
    if base != base.to_integral_value():
        smallest = {"volume": "µL", "mass": "mg", "piece": "pieces"}[dimension]
        raise OutOfRange(field, f"whole {smallest}", text, "Leave out decimals.")
    if not 0 <= base <= MOST_BASE:
        most = MOST_BASE // _KINDS[dimension]
        raise OutOfRange(field, f"0 to {most} {unit}", text.strip(), "Check the number.")
    return quantity(Dimension(dimension), int(base))


def typed_whole(text: str, field: str, most: int = 100_000) -> int:
    """A whole number, 0 or more. Raises OutOfRange or BadNumber with words."""
    number = parse_decimal(text, field=field, mark=mark_in_use())
    if number != number.to_integral_value() or not 0 <= number <= most:
        raise OutOfRange(field, f"a whole number up to {most}", text, "Count them again.")
    return int(number)


def typed_decimal(text: str, field: str) -> Decimal:
    """Any number. Raises BadNumber with words."""
    return parse_decimal(text, field=field, mark=mark_in_use())
