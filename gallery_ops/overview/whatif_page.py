"""What if? What its page asks of the rooms; nothing is written."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from gallery_ops.kernel.models import Showroom
from inventory.queries.stock_page import axis_days
from inventory.queries.what_if import Choices, WhatIf, what_if
from tanks.queries.tanks import fleet

AXIS_DAYS = 56


@dataclass(frozen=True, slots=True)
class Size:
    """Outer sides of a glass [mm]."""

    length_mm: int
    width_mm: int
    height_mm: int

    @property
    def key(self) -> str:
        """As an address holds it."""
        return f"{self.length_mm}x{self.width_mm}x{self.height_mm}"


@dataclass(frozen=True, slots=True)
class WhatIfPage:
    """Both answers, the sizes that stand here, and the days of the axis."""

    answer: WhatIf
    sizes: tuple[Size, ...]
    deliveries: tuple[date, ...]
    closures: tuple[date, ...]


def whatif_page(showroom: Showroom, at: datetime, choices: Choices) -> WhatIfPage:
    """Raises Refused naming the field when a choice is out of range."""
    answer = what_if(showroom, at, choices)
    deliveries, closures = axis_days(showroom, answer.today, AXIS_DAYS)
    return WhatIfPage(answer, sizes_here(showroom, at), deliveries, closures)


def sizes_here(showroom: Showroom, at: datetime) -> tuple[Size, ...]:
    """Sizes of the glasses that stand here, the smallest first."""
    found = {
        Size(now.tank.length_mm, now.tank.width_mm, now.tank.height_mm)
        for now in fleet(showroom, at)
    }
    return tuple(sorted(found, key=lambda one: one.length_mm * one.width_mm * one.height_mm))
