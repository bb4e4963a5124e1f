"""The gauge of a cylinder was read."""

from __future__ import annotations

from inventory.services.pressures import record_pressure
from maintenance.actions.context import Said


def apply(said: Said) -> None:
    """Keep it; it is no level."""
    record_pressure(
        container=said.container(said.body["container"]),
        pressure_kpa=said.body["pressure_kpa"],
        temperature_mdegc=said.body["temperature_mdegc"],
        **said.moments(),
    )
