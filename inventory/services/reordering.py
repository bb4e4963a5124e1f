"""What must be ordered soon? Opens one alert per stock, and closes it when the cause is gone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Synced, Wanted, sync_alerts
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.quantity import quantity
from inventory.forecast.reorder import REVIEW_DAYS
from inventory.forecast.watch import must_reorder
from inventory.models import Container, Forecast, ItemKind, Supply
from inventory.queries.forecast_rows import current_forecasts
from inventory.queries.keys import container_key, item_key
from inventory.queries.stock_facts import spoken_name
from inventory.queries.supply import tanks_by_container

KIND = "reorder"


def review(*, showroom: Showroom, at: datetime, review_days: int = REVIEW_DAYS) -> Synced:
    """Make the open reorder alerts equal to what the projections ask for.

    Parameters
    ----------
    review_days : an order-by date within so many days is asked for now, since somebody looks at
        the list that often (common practice, no source)

    An item asks when its order-by date comes near; a gas cylinder too, unless a full one of its
    size stands ready in the store. Running it again changes nothing.
    """
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    rows = [row for row in current_forecasts(showroom) if _asks(row, today, review_days)]
    rows = list(_without_spare(showroom, rows))
    tanks = tanks_by_container(showroom, at) if rows else {}
    wanted = {_key(row): _wanted(row, tanks.get(row.container_id or 0, []), today) for row in rows}
    return sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)


def _asks(row: Forecast, today: date, review_days: int) -> bool:
    is_gas = row.item.kind == ItemKind.GAS
    if (row.container_id is not None) != is_gas or row.order_by_on is None:
        return False
    return must_reorder(row.order_by_on, today, review_days)


def _without_spare(showroom: Showroom, rows: list[Forecast]) -> Iterable[Forecast]:
    """Leave out as many cylinders, soonest first, as full ones of their size stand in the store."""
    spare = _full_in_store(showroom)
    for row in sorted(rows, key=lambda r: (r.order_by_on or r.as_of_on, r.pk)):
        size = (row.item_id, row.container.capacity_base) if row.container else None
        if size is not None and spare[size] > 0:
            spare[size] -= 1
            continue
        yield row


def _full_in_store(showroom: Showroom) -> dict[tuple[int, int], int]:
    """Unopened cylinders that feed nothing, by item id and size [base units]."""
    connected = Supply.objects.of(showroom).still().values("container_id")
    rows = Container.objects.of(showroom).filter(
        item__kind=ItemKind.GAS, opened_on=None, finished_on=None, voided_at=None
    )
    spare: dict[tuple[int, int], int] = defaultdict(int)
    free = rows.exclude(pk__in=connected)
    for item_id, size in free.values_list("item_id", "capacity_base"):
        spare[item_id, size] += 1
    return spare


def _key(row: Forecast) -> str:
    return item_key(row.item_id) if row.container_id is None else container_key(row.container_id)


def _wanted(row: Forecast, tanks: list[str], today: date) -> Wanted:
    name = row.item.name if row.container is None else spoken_name(row.container, tanks)
    amount = quantity(row.item.dimension, row.level_base).short(row.showroom.decimal_mark)
    order_by = row.order_by_on or today
    when = "today" if order_by <= today else f"by {order_by:%-d %B}"
    likely = f"{row.likely_on:%-d %B}" if row.likely_on else "more than a year from now"
    return Wanted(
        harm_class=row.item.harm_class,
        subject_kind="item" if row.container_id is None else "container",
        subject_key=_key(row),
        sentence=f"Order {name} {when}: {amount} left, likely gone {likely}."[:300],
        because=list(_because(row)),
        order_by_on=row.order_by_on,
    )


def _because(row: Forecast) -> Iterable[dict[str, Any]]:
    yield {
        "what": "runs_out",
        "earliest": row.earliest_on,
        "likely": row.likely_on,
        "latest": row.latest_on,
        "order_by": row.order_by_on,
    }
    answers: Iterable[Mapping[str, Any]] = row.because
    for answer in answers:
        yield dict(answer)
