"""Presses of a pump were weighed."""

from __future__ import annotations

from gallery_ops.kernel.values.quantity import Mass
from inventory.services.calibration import record_press_calibration
from maintenance.actions.context import Said


def apply(said: Said) -> None:
    """Book what one press gives from now on."""
    body = said.body
    record_press_calibration(
        container=said.container(body["container"]),
        presses=body["presses"],
        mass=Mass(body["mass_mg"]),
        **said.moments(),
    )
