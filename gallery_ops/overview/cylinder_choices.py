"""What can be chosen in the forms about a cylinder, and the things that stand behind a choice."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.queries.people import members
from inventory.models import Item, ItemKind, Scale, Supplier
from tanks.models import Room, Tank
from tanks.queries.places import rooms
from tanks.queries.tanks import fleet


@dataclass(frozen=True, slots=True)
class Choices:
    """Things by the word that a form sends for them."""

    gases: dict[str, Item]
    washers: dict[str, Item]
    suppliers: dict[str, Supplier]
    rooms: dict[str, Room]
    tanks: dict[str, Tank]
    titles: dict[str, str]
    people: dict[str, Membership]
    scales: dict[str, Scale]


def choices(showroom: Showroom, at: datetime) -> Choices:
    """All of them; the number of queries does not grow."""
    items = list(
        Item.objects.of(showroom).filter(voided_at=None, retired_at=None).order_by("name", "pk")
    )
    now = fleet(showroom, at)
    suppliers = Supplier.objects.of(showroom).filter(voided_at=None).order_by("name")
    scales = Scale.objects.of(showroom).filter(voided_at=None).order_by("pk")
    return Choices(
        gases={row.code: row for row in items if row.kind == ItemKind.GAS},
        washers={row.code: row for row in items if row.dimension == "piece"},
        suppliers={row.name: row for row in suppliers},
        rooms={str(row.uid): row for row in rooms(showroom)},
        tanks={row.code: row.tank for row in now if row.tank.retired_at is None},
        titles={row.code: row.title for row in now},
        people={str(row.person.uid): row for row in members(showroom, at)},
        scales={row.name: row for row in scales},
    )
