"""Portions of a feeder were weighed."""

from __future__ import annotations

from gallery_ops.kernel.values.quantity import Mass
from inventory.services.feeder import record_feeder_calibration
from maintenance.actions.context import Said
from tanks.queries.tanks import tank_by_code


def apply(said: Said) -> None:
    """Book what one portion gives from now on."""
    body = said.body
    record_feeder_calibration(
        tank=tank_by_code(said.showroom, body["tank"], said.done_at_corrected).tank,
        item=said.item(body["product"]),
        portions=body["portions"],
        mass=Mass(body["mass_mg"]),
        **said.moments(),
    )
