"""Stock was poured from one container into another."""

from __future__ import annotations

from gallery_ops.kernel.values.quantity import quantity
from inventory.services.decant import decant
from maintenance.actions.context import Said


def apply(said: Said) -> None:
    """Book both sides; without an amount the target was filled to its line."""
    body = said.body
    source = said.container(body["source"])
    amount = body["amount_base"]
    decant(
        source=source,
        into=said.container(body["into"]),
        amount=None if amount is None else quantity(source.item.dimension, amount),
        **said.moments(),
    )
