"""What stands in the gallery now, as far as an owner's list could change it?

A constant number of queries, whatever the list and the gallery hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from inventory.models import Item, ItemKind, SupplyPurpose
from inventory.queries.items import open_items
from inventory.queries.plans import Planned, planned_for_day
from tanks.models import Designer, Position, Room, Zone
from tanks.queries import places
from tanks.queries.tanks import TankNow, fleet

KIND_OF: dict[str, str] = {
    SupplyPurpose.DOSE.value: ItemKind.FERTILISER.value,
    SupplyPurpose.GAS.value: ItemKind.GAS.value,
    SupplyPurpose.FOOD.value: ItemKind.FOOD.value,
}
"""Purpose of a plan -> kind of the item that it gives."""


@dataclass(frozen=True, slots=True)
class Standing:
    """The gallery at a moment. Names are looked up without regard to case."""

    showroom: Showroom
    at: datetime
    on: date
    tanks: dict[str, TankNow]
    former: dict[str, str]
    rooms: dict[str, Room]
    zones: dict[str, Zone]
    positions: dict[tuple[int, str], Position]
    designers: dict[str, Designer]
    planned: dict[tuple[int, str], list[Planned]]
    items: dict[str, list[Item]]

    def holder_of(self, position: Position) -> TankNow | None:
        """The tank that stands at a place."""
        for tank in self.tanks.values():
            if tank.position is not None and tank.position.pk == position.pk:
                return tank
        return None

    def item_for(self, tank: TankNow | None, purpose: str) -> Item | None:
        """The item that a plan of this purpose would give: the tank's own, or the only one.

        None where there is none yet, or where several could be meant.
        """
        of_kind = self.items.get(purpose, [])
        own = self.planned.get((tank.tank.pk, purpose), []) if tank is not None else []
        if len(own) == 1:
            return next((item for item in of_kind if item.pk == own[0].item_id), None)
        return of_kind[0] if len(of_kind) == 1 else None

    def planned_base(self, tank: TankNow, purpose: str) -> int | None:
        """What the tank gets a day [base units], all items together; None without a plan."""
        rows = self.planned.get((tank.tank.pk, purpose))
        return sum(row.amount_base for row in rows) if rows else None


def standing(showroom: Showroom, at: datetime) -> Standing:
    """The gallery as it stands at ``at``."""
    on = business_day(at, showroom.tz, showroom.cut_off_hour)
    planned: dict[tuple[int, str], list[Planned]] = {}
    for row in planned_for_day(showroom, on).values():
        planned.setdefault((row.tank_id, row.purpose), []).append(row)
    items: dict[str, list[Item]] = {}
    all_items = open_items(showroom)
    for purpose, kind in KIND_OF.items():
        items[purpose] = [item for item in all_items if item.kind == kind]
    return Standing(
        showroom=showroom,
        at=at,
        on=on,
        tanks={tank.code.casefold(): tank for tank in fleet(showroom, at)},
        former=places.former_codes(showroom),
        rooms={room.name.casefold(): room for room in places.rooms(showroom)},
        zones={zone.code.casefold(): zone for zone in places.zones(showroom)},
        positions={
            (place.room_id, place.name.casefold()): place for place in places.positions(showroom)
        },
        designers={row.name.casefold(): row for row in places.designers(showroom)},
        planned=planned,
        items=items,
    )
