"""Is enough of a stock on order, and does it come in time?"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from typing import cast

from inventory.forecast.delivery import RISK
from inventory.forecast.types import HarmClass
from inventory.forecast.watch import must_reorder
from inventory.models import Forecast
from inventory.queries.orders import OnOrder

PATIENCE = 2.0
"""An order that is out is asked about again when the chance to be out before it comes is so many
times the accepted one (own assumption, no source): an order sent on its order-by day, which bears
just the accepted chance, must not ask again the next morning."""


def covered(row: Forecast, coming: Iterable[OnOrder], today: date, review_days: int) -> bool:
    """Whether what is on order keeps this stock from asking: it comes in time, and it is enough.

    Enough: with it, the order-by date of the stock moves beyond the next look at the list.
    """
    in_time = [one for one in coming if comes_in_time(row, one)]
    if not in_time or row.order_by_on is None:
        return False
    if row.plan_base_per_day <= 0:
        return True
    longer = sum(one.base for one in in_time) // row.plan_base_per_day
    moved = row.order_by_on + timedelta(days=min(int(longer), 4_000))
    return not must_reorder(moved, today, review_days)


def comes_in_time(row: Forecast, one: OnOrder) -> bool:
    """Is the chance to be out before this order comes one that may be lived with?

    The van is taken to come on each day of its expected window alike. An order that should have
    come already, ``expected_to`` None, comes on no day that anybody knows.
    """
    if one.expected_to is None:
        return False
    first = one.expected_from
    days = (one.expected_to - first).days + 1
    chance = sum(out_by(row, first + timedelta(days=n)) for n in range(days)) / days
    return chance <= PATIENCE * RISK[cast("HarmClass", row.item.harm_class)]


def out_by(row: Forecast, day: date) -> float:
    """Chance that the stock is out by the end of a day, from the nineteen quantiles."""
    after = (day - row.as_of_on).days
    return sum(1 for quantile in row.quantiles_days if quantile <= after) / 20
