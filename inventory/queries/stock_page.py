"""What runs out, and what must be ordered by when? One answer for the stock page, constant queries.

A row is an item with all its containers, or for gas one cylinder, since a cylinder's content cannot
be carried to another tank. Rows come by the day on which somebody must act, then by harm class.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from gallery_ops.kernel.models import Alert, Showroom
from gallery_ops.kernel.values.quantity import Quantity, quantity
from inventory.forecast.delivery import RISK
from inventory.models import Container, Forecast, Item, SupplierItem
from inventory.queries.forecast_rows import current_forecasts
from inventory.queries.keys import container_key, item_key
from inventory.queries.levels import Level, levels_of
from inventory.queries.stock_facts import StockFacts, is_gas, spoken_name, stock_facts

STALE_AFTER = timedelta(hours=26)
"""A projection older than this stands still."""
NEVER = date.max


@dataclass(frozen=True, slots=True)
class StockRow:
    """One line of the page. Days are None when they are not known or beyond a year.

    ``to_do`` says what is asked of a person: ``leak`` look for one, ``order`` by ``act_by``,
    ``exchange`` the cylinder by ``act_by``, ``too_old`` open the next, ``press`` change the
    instruction, ``count`` it is below nothing, ``weigh`` it was never measured, ``ask`` no delivery
    is known, ``plan`` nothing is planned with it, or ``nothing``.
    """

    key: str
    item: Item
    container: Container | None
    name: str
    harm_class: str
    level: Quantity
    full: Quantity
    containers: int
    tanks: tuple[str, ...]
    measured_at: datetime | None
    measured_by: str
    is_never_measured: bool
    is_below_nothing: bool
    earliest: date | None
    likely: date | None
    latest: date | None
    order_by: date | None
    too_old: date | None
    to_do: str
    act_by: date | None
    supplier_name: str
    pack: Quantity | None
    plan_per_day: Quantity
    because: list[Mapping[str, Any]]
    out_before_next: float | None
    """Chance to be out before the next possible delivery ends."""
    made_at: datetime | None
    is_stale: bool

    @property
    def part_of_full(self) -> float:
        """Level as a part of full, 0 to 1, for a gauge."""
        return min(1.0, max(0.0, self.level.base / self.full.base)) if self.full.base else 0.0


@dataclass(frozen=True, slots=True)
class StockPage:
    """All rows and what the sentence above them says."""

    today: date
    rows: list[StockRow]
    to_order_today: list[StockRow]
    alive_at_risk: list[StockRow]
    """Class A rows that may be out before their next delivery (over 2 %)."""
    deliveries: tuple[date, ...]
    closures: tuple[date, ...]
    made_at: datetime | None
    is_stale: bool


def stock_page(showroom: Showroom, at: datetime, *, days: int = 56) -> StockPage:
    """The stock of a showroom with its projections; ``days`` is the length of the time axis."""
    facts = stock_facts(showroom, at)
    levels = levels_of(facts)
    forecasts = {
        container_key(row.container_id) if row.container_id else item_key(row.item_id): row
        for row in current_forecasts(showroom)
    }
    alerts = _alerts(showroom)
    rows = list(_rows(facts, levels, forecasts, alerts))
    rows.sort(key=lambda row: (row.act_by or NEVER, row.harm_class, row.name, row.key))
    made = [row.made_at for row in rows if row.made_at is not None]
    return StockPage(
        today=facts.today,
        rows=rows,
        to_order_today=[r for r in rows if r.to_do in {"order", "exchange"} and _due(r, facts)],
        alive_at_risk=[
            r for r in rows if r.harm_class == "A" and (r.out_before_next or 0.0) > RISK["A"]
        ],
        deliveries=tuple(_deliveries(facts, days)),
        closures=tuple(_closures(facts, days)),
        made_at=min(made, default=None),
        is_stale=any(row.is_stale for row in rows),
    )


def _due(row: StockRow, facts: StockFacts) -> bool:
    return row.act_by is not None and row.act_by <= facts.today


def _alerts(showroom: Showroom) -> dict[str, set[str]]:
    """Kinds of open alerts by the key of what they are about."""
    found: dict[str, set[str]] = defaultdict(set)
    rows = Alert.objects.of(showroom).filter(
        closed_at=None, kind__in=["gas_use", "press_off", "too_old", "reorder"]
    )
    for key, kind in rows.order_by("pk").values_list("subject_key", "kind"):
        found[key].add(kind)
    return found


def _rows(
    facts: StockFacts,
    levels: Mapping[int, Level],
    forecasts: Mapping[str, Forecast],
    alerts: Mapping[str, set[str]],
) -> Iterable[StockRow]:
    of_item: dict[int, list[Container]] = defaultdict(list)
    for container in facts.containers.values():
        of_item[container.item_id].append(container)
    for item_id, containers in sorted(of_item.items()):
        in_use = [c for c in containers if facts.is_fed_now(c.pk)]
        if is_gas(containers[0]):
            for container in in_use:
                key = container_key(container.pk)
                yield _row(facts, levels, key, [container], forecasts, alerts.get(key, set()))
            continue
        key = item_key(item_id)
        kinds = set(alerts.get(key, ()))
        for container in in_use:
            kinds |= alerts.get(container_key(container.pk), set())
        yield _row(facts, levels, key, containers, forecasts, kinds)


def _row(
    facts: StockFacts,
    levels: Mapping[int, Level],
    key: str,
    containers: list[Container],
    forecasts: Mapping[str, Forecast],
    alerts: set[str],
) -> StockRow:
    item, forecast = containers[0].item, forecasts.get(key)
    mine = [levels[c.pk] for c in containers]
    one = containers[0] if is_gas(containers[0]) else None
    measured = max((m for m in (_measured(facts, c) for c in containers) if m), default=None)
    supplier = facts.suppliers.get(item.pk)
    base = sum(level.base for level in mine)
    too_old = _too_old(facts, containers, forecasts) if "too_old" in alerts else None
    to_do = _to_do(forecast, alerts, base, measured is not None, is_gas(containers[0]))
    return StockRow(
        key=key,
        item=item,
        container=one,
        name=spoken_name(one, facts.tanks_of(one.pk)) if one else item.name,
        harm_class="A" if "gas_use" in alerts else item.harm_class,
        level=quantity(item.dimension, base),
        full=quantity(item.dimension, sum(c.capacity_base for c in containers)),
        containers=len(containers),
        tanks=_tanks(facts, containers),
        measured_at=measured[0] if measured else None,
        measured_by=measured[1] if measured else "",
        is_never_measured=measured is None,
        is_below_nothing=any(level.is_below_nothing for level in mine),
        earliest=forecast.earliest_on if forecast else None,
        likely=forecast.likely_on if forecast else None,
        latest=forecast.latest_on if forecast else None,
        order_by=forecast.order_by_on if forecast else None,
        too_old=too_old,
        to_do=to_do,
        act_by=_act_by(facts, to_do, forecast, too_old),
        supplier_name=supplier.supplier.name if supplier else "",
        pack=_pack(facts, item, one),
        plan_per_day=quantity(item.dimension, forecast.plan_base_per_day if forecast else 0),
        because=list(forecast.because) if forecast else [],
        out_before_next=_out_before_next(forecast),
        made_at=forecast.made_at if forecast else None,
        is_stale=forecast is not None and facts.at - forecast.made_at > STALE_AFTER,
    )


def _measured(facts: StockFacts, container: Container) -> tuple[datetime, str] | None:
    weighed = facts.weighed.get(container.pk)
    return (weighed[-1].at, weighed[-1].person_name) if weighed else None


def _to_do(
    forecast: Forecast | None, alerts: set[str], base: int, is_measured: bool, gas: bool
) -> str:
    order = "exchange" if gas else "order"
    known = forecast is not None and _answer(forecast, "deliveries").get("known", False)
    asked = (
        ("leak", "gas_use" in alerts),
        ("count", base < 0),
        ("plan", forecast is None),
        (order, "reorder" in alerts),
        ("too_old", "too_old" in alerts),
        ("press", "press_off" in alerts),
        ("ask", not known),
        (order, forecast is not None and forecast.order_by_on is not None),
        ("weigh", not is_measured),
    )
    return next((what for what, holds in asked if holds), "nothing")


def _act_by(
    facts: StockFacts, to_do: str, forecast: Forecast | None, too_old: date | None
) -> date | None:
    if to_do in {"leak", "count"}:
        return facts.today
    if to_do == "too_old":
        return too_old
    return forecast.order_by_on if forecast else None


def _too_old(
    facts: StockFacts, containers: list[Container], forecasts: Mapping[str, Forecast]
) -> date | None:
    rows = [forecasts.get(container_key(c.pk)) for c in containers if facts.is_fed_now(c.pk)]
    return min((r.too_old_on for r in rows if r and r.too_old_on), default=None)


def _tanks(facts: StockFacts, containers: list[Container]) -> tuple[str, ...]:
    return tuple(sorted({code for c in containers for code in facts.tanks_of(c.pk)}))


def _pack(facts: StockFacts, item: Item, cylinder: Container | None) -> Quantity | None:
    """The preferred pack; for a cylinder the one of its own size, if anybody offers that."""
    offers = facts.offers.get(item.pk, [])
    same = [o for o in offers if cylinder is not None and o.pack_base == cylinder.capacity_base]
    return quantity(item.dimension, (same or offers)[0].pack_base) if offers else None


def _answer(forecast: Forecast, what: str) -> Mapping[str, Any]:
    return next((a for a in forecast.because if a.get("what") == what), {})


def _out_before_next(forecast: Forecast | None) -> float | None:
    if forecast is None:
        return None
    coming = _answer(forecast, "deliveries").get("next") or []
    return float(coming[0]["out_before"]) if coming else None


def _deliveries(facts: StockFacts, days: int) -> Iterable[date]:
    """Days of the axis on which a van of any supplier may come."""
    for n in range(1, days + 1):
        day = facts.today + timedelta(days=n)
        if any(_comes(row, day) for row in facts.suppliers.values()):
            yield day


def _comes(row: SupplierItem, day: date) -> bool:
    who = row.supplier
    if who.delivery_weekdays[day.weekday()] != "1":
        return False
    return not any(c.from_on <= day < c.to_on for c in who.closures.all())


def _closures(facts: StockFacts, days: int) -> Iterable[date]:
    """Days of the axis on which some supplier is closed."""
    for n in range(1, days + 1):
        day = facts.today + timedelta(days=n)
        for row in facts.suppliers.values():
            if any(c.from_on <= day < c.to_on for c in row.supplier.closures.all()):
                yield day
                break
