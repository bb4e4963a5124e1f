"""Which gas cylinders have nobody to follow them: no full one in the store, none on its way?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from gallery_ops.kernel.models import Showroom
from inventory.models import Container, Forecast, ItemKind, Supply
from inventory.queries.cover import comes_in_time
from inventory.queries.orders import OnOrder

Coming = Mapping[int, Sequence[OnOrder]]
"""Item id -> what is on order of it."""


def without_spare(
    showroom: Showroom, rows: Iterable[Forecast], coming: Coming
) -> Iterable[Forecast]:
    """Leave out as many cylinders, soonest first, as full ones of their size stand in the store,
    and then as many as come in time for them. Rows of items pass.
    """
    spare = full_in_store(showroom)
    on_the_way = {(key, n): one.packs for key, some in coming.items() for n, one in enumerate(some)}
    for row in sorted(rows, key=lambda r: (r.order_by_on or r.as_of_on, r.pk)):
        size = (row.item_id, row.container.capacity_base) if row.container else None
        if size is not None and spare[size] > 0:
            spare[size] -= 1
            continue
        if size is not None and _takes_one(row, size, coming, on_the_way):
            continue
        yield row


def _takes_one(
    row: Forecast,
    size: tuple[int, int],
    coming: Coming,
    on_the_way: dict[tuple[int, int], int],
) -> bool:
    """Whether a cylinder of this size comes in time; then it is spoken for."""
    for n, one in enumerate(coming.get(size[0], ())):
        key = (size[0], n)
        if one.pack_base == size[1] and on_the_way[key] > 0 and comes_in_time(row, one):
            on_the_way[key] -= 1
            return True
    return False


def full_in_store(showroom: Showroom) -> dict[tuple[int, int], int]:
    """Unopened cylinders that feed nothing, by item id and size [base units]; one query."""
    connected = Supply.objects.of(showroom).still().values("container_id")
    rows = Container.objects.of(showroom).filter(
        item__kind=ItemKind.GAS, opened_on=None, finished_on=None, voided_at=None
    )
    spare: dict[tuple[int, int], int] = defaultdict(int)
    free = rows.exclude(pk__in=connected)
    for item_id, size in free.values_list("item_id", "capacity_base"):
        spare[item_id, size] += 1
    return spare
