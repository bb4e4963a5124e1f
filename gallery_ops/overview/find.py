"""Which tank is meant: by code, by a code of old, by title, or by the short code on its label."""

from __future__ import annotations

from datetime import datetime

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.text import folded
from tanks.queries.layouts import public_code
from tanks.queries.tanks import TankNow, fleet, leads_to, tank_by_code, tank_now

MOST = 40


def find_tank(showroom: Showroom, text: str, at: datetime) -> list[TankNow]:
    """Tanks that fit, best first; none for no text."""
    wanted = text.strip()
    if not wanted:
        return []
    try:
        return [tank_by_code(showroom, wanted, at)]
    except Unknown:
        pass
    try:
        code = public_code(wanted)
        if code.showroom_id == showroom.pk and code.tank is not None:
            return [tank_now(leads_to(code.tank, at), at)]
    except Unknown:
        pass
    part = folded(wanted)
    return [row for row in fleet(showroom, at) if part in folded(f"{row.code} {row.title}")][:MOST]
