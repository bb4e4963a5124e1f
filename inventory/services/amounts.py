"""Is this an amount of that item, and is it one that can be? The checks that services share."""

from __future__ import annotations

from typing import Any

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.services.checking import write_row
from gallery_ops.kernel.values.quantity import Quantity, quantity
from inventory.models import Item

MOST_BASE = 10**9
"""No deed moves more than 1,000 L, 1,000 kg or a thousand million pieces [base units]."""

WORDS = {
    "volume": "a volume in mL or L",
    "mass": "a mass in g or kg",
    "piece": "a number of pieces",
}


def base_of(item: Item, amount: Quantity, *, field: str = "amount", least: int = 0) -> int:
    """The amount in the item's base units, checked.

    Raises Refused for another dimension, for less than ``least`` and for more than MOST_BASE.
    """
    if amount.dimension != item.dimension:
        words = WORDS[item.dimension]
        raise Refused(
            "other_dimension",
            f"{item.name} is counted as {words}, not as {amount.text()}.",
            {field: f"Allowed: {words}."},
            "Write the amount in that unit.",
        )
    most = quantity(item.dimension, MOST_BASE)
    if not least <= amount.base <= MOST_BASE:
        low = quantity(item.dimension, least).text()
        raise Refused(
            "out_of_range",
            f"{field.capitalize()}: {amount.text()} is not allowed.",
            {field: f"Allowed: {low} to {most.text()}."},
            "Check the number and its unit.",
        )
    return amount.base


def written(row: Any) -> Any:
    """Save a new row that keeps to all its rules; a rule that says no becomes Refused."""
    write_row(row)
    return row
