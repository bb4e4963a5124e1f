"""Stock that is spoken for, and money for a month: what their pages ask of the rooms."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from gallery_ops.kernel.models import Showroom
from inventory.models import Item
from inventory.queries.items import open_items
from inventory.queries.reservations import Kept, reservations_open
from tanks.models import Tank
from tanks.queries.tanks import fleet


@dataclass(frozen=True, slots=True)
class SetAsidePage:
    """What is kept, and what may be chosen."""

    kept: list[Kept]
    items: dict[str, Item]
    tanks: dict[str, Tank]

    @property
    def to_buy(self) -> list[Kept]:
        """Those of which something is not here."""
        return [one for one in self.kept if not one.is_whole]


def set_aside_page(showroom: Showroom, at: datetime) -> SetAsidePage:
    """Everything that the page shows; constant queries."""
    return SetAsidePage(
        kept=reservations_open(showroom, at),
        items={item.code: item for item in open_items(showroom)},
        tanks={row.code: row.tank for row in fleet(showroom, at) if row.tank.retired_at is None},
    )
