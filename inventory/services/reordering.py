"""What must be ordered soon? Opens one alert per stock, and closes it when the cause is gone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Synced, Wanted, sync_alerts
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.quantity import quantity
from inventory.forecast.reorder import REVIEW_DAYS
from inventory.forecast.watch import must_reorder
from inventory.models import Forecast, ItemKind
from inventory.queries.cover import covered
from inventory.queries.cylinder_cover import Coming, without_spare
from inventory.queries.forecast_cases import UNITS
from inventory.queries.forecast_rows import current_forecasts
from inventory.queries.keys import container_key, item_key
from inventory.queries.orders import OnOrder, on_order
from inventory.queries.stock_facts import spoken_name
from inventory.queries.supply import tanks_by_container

KIND = "reorder"


def review(*, showroom: Showroom, at: datetime, review_days: int = REVIEW_DAYS) -> Synced:
    """Make the open reorder alerts equal to what the projections ask for.

    Parameters
    ----------
    review_days : an order-by date within so many days is asked for now, since somebody looks at
        the list that often (common practice, no source)

    An item asks when its order-by date comes near, unless enough of it is on order and comes in
    time; a gas cylinder too, unless a full one of its size stands ready in the store or is to come
    in time. Running it again changes nothing.
    """
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    rows = [row for row in current_forecasts(showroom) if _asks(row, today, review_days)]
    coming = on_order(showroom, {row.item_id for row in rows}, at=at) if rows else {}
    rows = list(without_spare(showroom, rows, coming))
    rows = [row for row in rows if not _is_covered(row, coming, today, review_days)]
    tanks = tanks_by_container(showroom, at) if rows else {}
    wanted = {
        _key(row): _wanted(row, tanks.get(row.container_id or 0, []), today, coming) for row in rows
    }
    return sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)


def _asks(row: Forecast, today: date, review_days: int) -> bool:
    is_gas = row.item.kind == ItemKind.GAS
    if (row.container_id is not None) != is_gas or row.order_by_on is None:
        return False
    return must_reorder(row.order_by_on, today, review_days)


def _is_covered(row: Forecast, coming: Coming, today: date, review_days: int) -> bool:
    if row.container_id is not None:  # gas: each cylinder was given its own above
        return False
    return covered(row, coming.get(row.item_id, ()), today, review_days)


def _key(row: Forecast) -> str:
    return item_key(row.item_id) if row.container_id is None else container_key(row.container_id)


def _wanted(row: Forecast, tanks: list[str], today: date, coming: Coming) -> Wanted:
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
        because=[*_because(row), _on_order(row, coming.get(row.item_id, ()))],
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
        if answer.get("what") != "on_order":
            yield dict(answer)


def _on_order(row: Forecast, coming: Iterable[OnOrder]) -> dict[str, Any]:
    """What is on order all the same: too little, or too late."""
    size = row.container.capacity_base if row.container is not None else None
    unit, per_unit = UNITS[row.item.dimension]
    return {
        "what": "on_order",
        "coming": [
            {
                "amount": {"amount": one.base / per_unit, "unit": unit},
                "order": f"{one.order_number:04d}",
                "from": one.expected_from,
                "to": one.expected_to,
            }
            for one in coming
            if size is None or one.pack_base == size
        ],
    }
