"""What serves a tank, what does it use, and do its parts fit each other?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from gallery_ops.kernel.models import Showroom
from tanks.models import Equipment
from tanks.queries.equipment import Serving, figure, known_of, served, serving
from tanks.queries.tanks import TankNow, tank_by_code
from tanks.science.energy import daily_light_mol_per_m2, turnover_per_h, used_kwh
from tanks.science.interlocks import Found, found

ALL_DAY = {"filter", "pump"}


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece with what follows from its figures; None where a figure is missing."""

    serving: Serving
    kwh_a_day: float | None
    light_mol: float | None
    turnover: float | None


@dataclass(frozen=True, slots=True)
class EquipmentPage:
    """One tank's equipment; ``kwh_a_day`` is the sum of what is known, without its heaters."""

    now: TankNow
    pieces: list[Piece]
    before: list[Equipment]
    found: list[Found]
    kwh_a_day: float


def equipment_page(showroom: Showroom, code: str, at: datetime) -> EquipmentPage:
    """The equipment of the tank that is called so.

    Raises
    ------
    Unknown
        when no tank of this showroom was ever called so.
    """
    now = tank_by_code(showroom, code, at)
    water_l = float(now.volumes.working_l)
    pieces = [_piece(one, water_l) for one in serving(now.tank)]
    flows = {
        one.serving.row.pk: float(one.serving.flow_now.flow_l_per_h)
        for one in pieces
        if one.serving.flow_now is not None and one.serving.flow_now.flow_l_per_h is not None
    }
    known = known_of(
        [one.serving.row for one in pieces],
        flows,
        has_co2=now.layout.has_co2 if now.layout else False,
        water_l=water_l,
    )
    return EquipmentPage(
        now=now,
        pieces=pieces,
        before=served(now.tank),
        found=found(known) if now.layout else [],
        kwh_a_day=sum(one.kwh_a_day or 0 for one in pieces),
    )


def _piece(one: Serving, water_l: float) -> Piece:
    row = one.row
    power, hours = figure(row, "power_w"), figure(row, "hours_per_day")
    if row.kind in ALL_DAY:
        hours = 24
    ppfd = figure(row, "ppfd_umol")
    now = one.flow_now
    flow = now.flow_l_per_h if now is not None else figure(row, "flow_l_per_h")
    is_known = power is not None and hours is not None and row.kind != "heater"
    return Piece(
        serving=one,
        kwh_a_day=used_kwh(power or 0, hours or 0) if is_known else None,
        light_mol=daily_light_mol_per_m2(ppfd, hours) if ppfd and hours else None,
        turnover=turnover_per_h(flow, water_l) if row.kind == "filter" and flow else None,
    )
