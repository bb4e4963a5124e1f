"""A few words about a tank or a place."""

from __future__ import annotations

from maintenance.actions.context import Said
from maintenance.services.observations import observe
from tanks.queries.glasses import glass_then
from tanks.queries.tanks import tank_by_code


def apply(said: Said) -> None:
    """Keep them."""
    stop = said.stop_or_none()
    tank = glass_then(stop.tank, said.done_at_corrected) if stop and stop.tank else None
    code = said.body.get("tank")
    if tank is None and code:
        tank = tank_by_code(said.showroom, code, said.done_at_corrected).tank
    observe(
        showroom=said.showroom,
        tank=tank,
        round_=said.round_or_none(),
        kind="note",
        text=said.body["text"],
        **said.moments(),
    )
