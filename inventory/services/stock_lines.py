"""The lines of the stock page, concluded again from what is known and stored as they stand.

A page must not read every container to sort by the day on which somebody must act, so sums and
order are kept. A line says when it was made; while a projection of it is wanted, the page says so.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Avg, Count, Q, Sum

from gallery_ops.kernel.models import Alert, Showroom
from inventory.models import (
    Container,
    Forecast,
    ForecastScore,
    Item,
    Movement,
    StockLine,
    StockToDo,
)
from inventory.models.stock_line import NEVER
from inventory.queries.keys import container_key, item_key, parse_key
from inventory.queries.levels import Level, levels_of
from inventory.queries.stock_facts import StockFacts, is_gas, spoken_name, stock_facts

ALERTS = ("gas_use", "press_off", "too_old", "reorder", "stock_finding", "variance")
SCORED_DAYS = 365
FIGURES = (
    "forecast_id", "alert_id", "name", "harm_class", "to_do", "act_by_on", "too_old_on",
    "opened_on", "level_base", "full_base", "containers", "tanks", "is_below_nothing",
    "measured_at", "measured_by", "out_before_next", "projected_at", "scored", "inside",
    "early_days",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Told:
    """How many lines a run made, altered and took away."""

    made: int
    altered: int
    gone: int


@dataclass(frozen=True, slots=True)
class _Known:
    """All that lines are concluded from."""

    facts: StockFacts
    levels: Mapping[int, Level]
    forecasts: Mapping[str, Forecast]
    alerts: Mapping[str, Mapping[str, Alert]]
    scores: Mapping[int, Mapping[str, Any]]


def refresh(*, showroom: Showroom, at: datetime, subject: str = "") -> Told:
    """Make the lines of a stock (``item:3``, ``container:7``) or of all equal to what is known.

    Reading happens outside the transaction; a line of later knowledge is left alone. Running it
    twice changes nothing but the moment at which the lines were made.
    """
    return refresh_items(showroom=showroom, at=at, item_ids=_items_of(showroom, subject))


def refresh_items(*, showroom: Showroom, at: datetime, item_ids: Collection[int] | None) -> Told:
    """The same for all stocks of these items, or of all."""
    of_items = Q() if item_ids is None else Q(item_id__in=item_ids)
    facts = stock_facts(showroom, at, item_ids=item_ids)
    forecasts = Forecast.objects.of(showroom).filter(of_items, is_current=True)
    known = _Known(
        facts,
        levels_of(facts),
        {_name_of(row.item_id, row.container_id): row for row in forecasts.defer("made_from")},
        _alerts(showroom, facts),
        _scores(showroom, facts),
    )
    return _store(showroom, list(_lines(known)), of_items, at)


def expect(*, showroom: Showroom, item: Item, container: Container | None, at: datetime) -> None:
    """An item, or a gas cylinder put up, is shown from now on, also before anybody counted it."""
    if StockLine.objects.filter(item=item, container=container).exists():
        return
    mine = Container.objects.filter(item=item, finished_on=None, voided_at=None)
    if container is not None:
        mine = mine.filter(pk=container.pk)
    moved = Movement.objects.filter(container__in=mine).aggregate(total=Sum("amount_base"))
    held = mine.aggregate(total=Sum("capacity_base"))
    StockLine.objects.bulk_create(
        [
            StockLine(
                showroom=showroom,
                item=item,
                container=container,
                name=(str(container) if container else item.name)[:200],
                harm_class=item.harm_class,
                level_base=moved["total"] or 0,
                full_base=held["total"] or 0,
                containers=mine.count(),
                made_at=at,
            )
        ],
        ignore_conflicts=True,
    )


def _items_of(showroom: Showroom, subject: str) -> Collection[int] | None:
    if not subject:
        return None
    named = parse_key(subject)
    if named is None:
        return ()
    kind, pk = named
    if kind == "item":
        return (pk,)
    return tuple(Container.objects.of(showroom).filter(pk=pk).values_list("item_id", flat=True))


def _name_of(item_id: int, container_id: int | None) -> str:
    return item_key(item_id) if container_id is None else container_key(container_id)


def _alerts(showroom: Showroom, facts: StockFacts) -> dict[str, dict[str, Alert]]:
    """Open alerts by what they are about and by kind."""
    found: dict[str, dict[str, Alert]] = defaultdict(dict)
    rows = Alert.objects.of(showroom).filter(closed_at=None, kind__in=ALERTS)
    if len(facts.containers) <= 100:
        keys = [container_key(pk) for pk in facts.containers]
        keys += [item_key(pk) for pk in {c.item_id for c in facts.containers.values()}]
        rows = rows.filter(subject_key__in=keys)
    for row in rows.order_by("pk").defer("because"):
        found[row.subject_key][row.kind] = row
    return found


def _scores(showroom: Showroom, facts: StockFacts) -> dict[int, Mapping[str, Any]]:
    """How wrong projections of each item were within a year, by item."""
    item_ids = {c.item_id for c in facts.containers.values()}
    rows = (
        ForecastScore.objects.of(showroom)
        .filter(
            forecast__item_id__in=item_ids,
            truth_on__gt=facts.today - timedelta(days=SCORED_DAYS),
            is_inside__isnull=False,
        )
        .order_by()
        .values("forecast__item_id")
        .annotate(
            n=Count("pk"), held=Count("pk", filter=Q(is_inside=True)), early=Avg("early_days")
        )
    )
    return {row["forecast__item_id"]: row for row in rows}


def _lines(known: _Known) -> Iterable[StockLine]:
    facts = known.facts
    of_item: dict[int, list[Container]] = defaultdict(list)
    for container in facts.containers.values():
        of_item[container.item_id].append(container)
    for item_id, containers in sorted(of_item.items()):
        in_use = [c for c in containers if facts.is_fed_now(c.pk)]
        if is_gas(containers[0]):
            for one in in_use:
                yield _line(known, container_key(one.pk), [one], [one])
            continue
        yield _line(known, item_key(item_id), containers, in_use)


def _line(
    known: _Known, key: str, containers: list[Container], in_use: list[Container]
) -> StockLine:
    facts, item, forecast = known.facts, containers[0].item, known.forecasts.get(key)
    one = containers[0] if is_gas(containers[0]) else None
    alerts = dict(known.alerts.get(key, {}))
    for container in in_use:
        alerts |= known.alerts.get(container_key(container.pk), {})
    mine = [known.levels[c.pk] for c in containers]
    base = sum(level.base for level in mine)
    measured = max((m for m in (measured_of(facts, c) for c in containers) if m), default=None)
    score = known.scores.get(item.pk, {})
    too_old = _too_old(known, in_use) if "too_old" in alerts else None
    to_do = to_do_of(forecast, set(alerts), base, measured is not None, one is not None)
    return StockLine(
        showroom=facts.showroom,
        item=item,
        container=one,
        forecast=forecast,
        alert=alert_of(to_do, alerts),
        name=(spoken_name(one, facts.tanks_of(one.pk)) if one else item.name)[:200],
        harm_class="A" if "gas_use" in alerts else item.harm_class,
        to_do=to_do,
        act_by_on=act_by(facts, to_do, forecast, too_old) or NEVER,
        too_old_on=too_old,
        opened_on=containers[0].opened_on if len(containers) == 1 else None,
        level_base=base,
        full_base=sum(c.capacity_base for c in containers),
        containers=len(containers),
        tanks=len({code for c in containers for code in facts.tanks_of(c.pk)}),
        is_below_nothing=any(level.is_below_nothing for level in mine),
        measured_at=measured[0] if measured else None,
        measured_by=measured[1][:120] if measured else "",
        out_before_next=out_before_next(forecast),
        projected_at=forecast.made_at if forecast else None,
        scored=score.get("n", 0),
        inside=score.get("held", 0),
        early_days=score.get("early"),
        made_at=facts.at,
    )


_KINDS_OF: Mapping[StockToDo, tuple[str, ...]] = {
    StockToDo.LEAK: ("gas_use",),
    StockToDo.ORDER: ("reorder",),
    StockToDo.EXCHANGE: ("reorder",),
    StockToDo.WHY: ("stock_finding", "variance"),
    StockToDo.TOO_OLD: ("too_old",),
    StockToDo.PRESS: ("press_off",),
}


def alert_of(to_do: StockToDo, alerts: Mapping[str, Alert]) -> Alert | None:
    """The alert that asks for it."""
    return next((alerts[kind] for kind in _KINDS_OF.get(to_do, ()) if kind in alerts), None)


def measured_of(facts: StockFacts, container: Container) -> tuple[datetime, str] | None:
    """When it was measured last, and by whom."""
    weighed = facts.weighed.get(container.pk)
    return (weighed[-1].at, weighed[-1].person_name) if weighed else None


def to_do_of(
    forecast: Forecast | None, alerts: set[str], base: int, is_measured: bool, gas: bool
) -> StockToDo:
    """What is most pressing; the first that holds."""
    order = StockToDo.EXCHANGE if gas else StockToDo.ORDER
    known = forecast is not None and _answer(forecast, "deliveries").get("known", False)
    asked = (
        (StockToDo.LEAK, "gas_use" in alerts),
        (StockToDo.COUNT, base < 0),
        (StockToDo.PLAN, forecast is None),
        (order, "reorder" in alerts),
        (StockToDo.WHY, bool(alerts & {"stock_finding", "variance"})),
        (StockToDo.TOO_OLD, "too_old" in alerts),
        (StockToDo.PRESS, "press_off" in alerts),
        (StockToDo.ASK, not known),
        (order, forecast is not None and forecast.order_by_on is not None),
        (StockToDo.WEIGH, not is_measured),
    )
    return next((what for what, holds in asked if holds), StockToDo.NOTHING)


def act_by(
    facts: StockFacts, to_do: StockToDo, forecast: Forecast | None, too_old: date | None
) -> date | None:
    """The day by which somebody must act."""
    if to_do in {StockToDo.LEAK, StockToDo.COUNT, StockToDo.WHY}:
        return facts.today
    if to_do == StockToDo.TOO_OLD:
        return too_old
    return forecast.order_by_on if forecast else None


def _too_old(known: _Known, in_use: list[Container]) -> date | None:
    rows = [known.forecasts.get(container_key(c.pk)) for c in in_use]
    return min((r.too_old_on for r in rows if r and r.too_old_on), default=None)


def _answer(forecast: Forecast, what: str) -> Mapping[str, Any]:
    return next((a for a in forecast.because if a.get("what") == what), {})


def out_before_next(forecast: Forecast | None) -> float | None:
    """Chance to be out before the next possible delivery ends."""
    if forecast is None:
        return None
    coming = _answer(forecast, "deliveries").get("next") or []
    return float(coming[0]["out_before"]) if coming else None


@transaction.atomic
def _store(showroom: Showroom, lines: list[StockLine], of_items: Q, at: datetime) -> Told:
    stored = {
        (row.item_id, row.container_id): row
        for row in StockLine.objects.select_for_update()
        .of(showroom)
        .filter(of_items)
        .order_by("pk")
    }
    fresh: list[StockLine] = []
    altered: list[StockLine] = []
    same: list[StockLine] = []
    for line in lines:
        before = stored.pop((line.item_id, line.container_id), None)
        if before is None:
            fresh.append(line)
        elif before.made_at <= at:
            line.pk = before.pk
            (same if _figures(before) == _figures(line) else altered).append(line)
    gone = [row.pk for row in stored.values() if row.made_at <= at]
    StockLine.objects.filter(pk__in=gone).delete()
    StockLine.objects.bulk_create(fresh, ignore_conflicts=True)
    if altered:
        StockLine.objects.bulk_update(altered, [*_columns(), "made_at"], batch_size=100)
    StockLine.objects.filter(pk__in=[row.pk for row in same]).update(made_at=at)
    return Told(len(fresh), len(altered), len(gone))


def _figures(line: StockLine) -> tuple[Any, ...]:
    return tuple(getattr(line, name) for name in FIGURES)


def _columns() -> list[str]:
    return [name.removesuffix("_id") for name in FIGURES]
