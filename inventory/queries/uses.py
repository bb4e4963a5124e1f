"""What was given to which tank on a business day, by whom, and against which plan?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from gallery_ops.kernel.models import Showroom
from inventory.models import Item, Use
from tanks.models import Tank


@dataclass(frozen=True, slots=True)
class Given:
    """One use that stands."""

    use_id: int
    tank_id: int
    item_id: int
    purpose: str
    given_base: int
    planned_base: int
    presses: int | None
    is_skip: bool
    person_name: str
    done_at: datetime


def already_given(showroom: Showroom, tank: Tank, item: Item, business_on: date) -> list[Given]:
    """What this tank got of this item on that business day, first first; skips are not among it."""
    return [row for row in _rows(showroom, business_on, tank=tank, item=item) if not row.is_skip]


def given_on(showroom: Showroom, business_on: date) -> dict[int, list[Given]]:
    """Everything that was given or skipped on that business day, by tank id, in one query."""
    found: dict[int, list[Given]] = {}
    for row in _rows(showroom, business_on):
        found.setdefault(row.tank_id, []).append(row)
    return found


def _rows(
    showroom: Showroom, business_on: date, tank: Tank | None = None, item: Item | None = None
) -> list[Given]:
    rows = Use.objects.of(showroom).standing().filter(business_on=business_on)
    if tank is not None:
        rows = rows.filter(tank=tank)
    if item is not None:
        rows = rows.filter(item=item)
    return [
        Given(
            use_id=row.pk,
            tank_id=row.tank_id,
            item_id=row.item_id,
            purpose=row.purpose,
            given_base=row.given_base,
            planned_base=row.planned_base,
            presses=row.presses,
            is_skip=row.is_skip,
            person_name=row.person.name,
            done_at=row.done_at_corrected,
        )
        for row in rows.select_related("person").order_by("done_at_corrected", "pk")
    ]
