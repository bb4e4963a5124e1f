"""What a buy list is reckoned from, read in a constant number of queries."""

from __future__ import annotations

import zlib
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import sqrt
from statistics import median
from typing import Any

import numpy as np
from django.db.models import Sum

from gallery_ops.kernel.models import Showroom
from inventory.forecast.amounts import UseAhead, from_left, steady
from inventory.forecast.reorder import Z_95
from inventory.forecast.types import HORIZON_DAYS
from inventory.models import (
    Forecast,
    ForecastPart,
    ItemKind,
    Lot,
    MonthBudget,
    OrderLine,
    OrderState,
    PurchaseOrder,
    Reservation,
    StockLine,
    Supplier,
    SupplierItem,
)
from inventory.queries.forecast_cases import per_unit
from inventory.queries.forecast_rows import current_forecasts, learned_factor
from inventory.queries.orders import OnOrder, lines_of, on_order, orders, to_pay_of
from inventory.queries.suppliers import day_of, offers, seen_leads, suppliers

Z_10 = 1.281552
LOTS_SINCE = timedelta(days=730)
Draft = tuple[PurchaseOrder, list[OrderLine]]


@dataclass(frozen=True, slots=True)
class BuyFacts:
    """All of it, by item or supplier id; amounts in base units, money in cents.

    ``ageing``: projections of opened containers that will be too old on a day, by item;
    ``printed_life``: days from receipt to the printed day, middle of the lots of two years;
    ``budget`` None when nothing was set aside for this month; ``spent`` of the orders sent in it.
    """

    showroom: Showroom
    at: datetime
    today: date
    suppliers: Mapping[int, Supplier]
    leads: Mapping[int, tuple[float, ...]]
    offers: Mapping[int, list[SupplierItem]]
    items: Mapping[int, Forecast]
    cylinders: tuple[Forecast, ...]
    ageing: Mapping[int, list[Forecast]]
    names: Mapping[int, str]
    parts: Mapping[int, ForecastPart]
    coming: Mapping[int, list[OnOrder]]
    reserved: Mapping[int, list[Reservation]]
    levels: Mapping[int, int]
    printed_life: Mapping[int, int]
    drafts: Mapping[int, Draft]
    budget: int | None
    spent: int


def buy_facts(showroom: Showroom, at: datetime) -> BuyFacts:
    """Everything that is known now; the number of queries does not grow with anything."""
    today = day_of(showroom, at)
    rows = current_forecasts(showroom)
    sold = _by_item(offers(showroom))
    lines = StockLine.objects.of(showroom)
    return BuyFacts(
        showroom=showroom,
        at=at,
        today=today,
        suppliers={one.pk: one for one in suppliers(showroom)},
        leads=seen_leads(showroom),
        offers=sold,
        items={row.item_id: row for row in rows if row.container_id is None},
        cylinders=tuple(row for row in rows if row.container_id and row.item.kind == ItemKind.GAS),
        ageing=_ageing(rows),
        names=dict(lines.filter(container__isnull=False).values_list("container_id", "name")),
        parts={
            part.item_id: part
            for part in ForecastPart.objects.of(showroom).filter(container__isnull=True)
        },
        coming=on_order(showroom, at=at),
        reserved=_reserved(showroom),
        levels=dict(
            lines.order_by().values("item_id").annotate(n=Sum("level_base"))
            .values_list("item_id", "n")
        ),
        printed_life=_printed_life(showroom, today),
        drafts=_drafts(showroom),
        budget=MonthBudget.objects.of(showroom)
        .filter(month_on=today.replace(day=1))
        .values_list("amount_cents", flat=True)
        .first(),
        spent=_spent(showroom, today),
    )  # fmt: skip


def _by_item(rows: Iterable[SupplierItem]) -> dict[int, list[SupplierItem]]:
    found: dict[int, list[SupplierItem]] = defaultdict(list)
    for offer in rows:
        found[offer.item_id].append(offer)
    return found


def _ageing(rows: Iterable[Forecast]) -> dict[int, list[Forecast]]:
    found: dict[int, list[Forecast]] = defaultdict(list)
    for row in rows:
        if row.container is not None and row.too_old_on and row.container.opened_on:
            found[row.item_id].append(row)
    return found


def left_too_old(row: Forecast) -> float:
    """What is likely left in an opened container on the day it is too old [base units]."""
    told = row.finding.get("too_old", {})
    if told.get("mid") is not None:
        return float(told["mid"])
    days = max(0, ((row.too_old_on or row.as_of_on) - row.as_of_on).days)
    return max(0.0, row.level_base - row.plan_base_per_day * learned_factor(row) * days)


def _reserved(showroom: Showroom) -> dict[int, list[Reservation]]:
    rows = Reservation.objects.of(showroom).filter(released_at=None)
    found: dict[int, list[Reservation]] = defaultdict(list)
    for row in rows.select_related("item", "tank").order_by("needed_on", "pk"):
        found[row.item_id].append(row)
    return found


def _printed_life(showroom: Showroom, today: date) -> dict[int, int]:
    rows = Lot.objects.of(showroom).filter(
        voided_at=None, expires_on__isnull=False, received_on__gte=today - LOTS_SINCE
    )
    lives: dict[int, list[int]] = defaultdict(list)
    for item_id, came, expires in rows.values_list("item_id", "received_on", "expires_on"):
        lives[item_id].append((expires - came).days)
    return {item_id: int(median(days)) for item_id, days in lives.items() if median(days) > 0}


def _drafts(showroom: Showroom) -> dict[int, Draft]:
    drafts = list(orders(showroom, states=[OrderState.DRAFT]))
    lines = lines_of(drafts)
    return {order.supplier_id: (order, lines.get(order.pk, [])) for order in drafts}


def _spent(showroom: Showroom, today: date) -> int:
    """Cents of the orders sent in the month of a day."""
    first = today.replace(day=1)
    rows = [
        order
        for order in orders(showroom).filter(sent_at__date__gte=first - timedelta(days=1))
        if order.sent_at is not None and day_of(showroom, order.sent_at) >= first
    ]
    return sum(money.cents for money in to_pay_of(rows).values())


# --- the use ahead ------------------------------------------------------------------------------
def use_ahead(row: Forecast, part: ForecastPart | None) -> UseAhead:
    """Use of an item from now on [base units]: by its plan ahead where its places were kept that
    day, else the coming week's use every day.
    """
    _, base = per_unit(row.item)
    if part is not None and part.as_of_on == row.as_of_on:
        curves = np.frombuffer(zlib.decompress(bytes(part.curves)), dtype=np.float64)
        if curves.size % (HORIZON_DAYS + 1) == 0:
            left = curves.reshape(-1, HORIZON_DAYS + 1)
            return from_left(left[0] * base, left[1] * base**2)
    told = {str(answer.get("what")): answer for answer in row.because}
    factor = learned_factor(row)
    per_day = row.plan_base_per_day * factor
    learned = told.get("learned", {})
    spread = 0.0
    if learned.get("to") is not None and factor > 0:
        spread = (float(learned["to"]) - float(learned["from"])) / (2 * Z_10 * factor)
    day_sd = _day_sd(told, base, per_day)
    if learned.get("factor") is None:
        day_sd = max(day_sd, _sd_by_early_end(row, per_day))
    return steady(per_day, day_sd, spread, float(row.level_sd_base))


def _sd_by_early_end(row: Forecast, per_day: float) -> float:
    """Sd of one day's use of what nobody plans, out of how soon it may be gone with a chance of
    1 in 20 [base units].
    """
    soon = float(row.quantiles_days[0])
    more = row.level_base - per_day * soon
    return more / (Z_95 * sqrt(soon)) if 0 < soon < HORIZON_DAYS and more > 0 else 0.0


def _day_sd(told: Mapping[str, Mapping[str, Any]], base: float, per_day: float) -> float:
    """Sd of one day's use, out of the safety stock that was told [base units].

    safety = z sqrt((lead + review) sd^2 + use^2 lead_sd^2), see :mod:`inventory.forecast.reorder`.
    """
    point = told.get("reorder_point", {})
    if not point.get("known"):
        return sqrt(per_day * base)  # as pieces that come one by one
    safety = float(point["safety"]["amount"]) * base / Z_95
    days = float(point["lead_days"]) + float(point["review_days"])
    rest = safety**2 - (per_day * float(point["lead_sd_days"])) ** 2
    return sqrt(max(0.0, rest / days))
