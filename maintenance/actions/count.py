"""What is in a container was counted, or read off its mark."""

from __future__ import annotations

from gallery_ops.kernel.values.quantity import quantity
from inventory.services.counting import count
from maintenance.actions.context import Said


def apply(said: Said) -> None:
    """Book the difference to what the ledger held then."""
    container = said.container(said.body["container"])
    count(
        container=container,
        counted=quantity(container.item.dimension, said.body["counted_base"]),
        reason=said.body["reason"] or "",
        **said.moments(),
    )
