"""What does the forecast get to know? Facts and plans of a showroom as cases, in constant queries.

A container that feeds tanks is a case of its own; an item is a pool of these and of what stands
unopened beside them. Gas has cases only: a cylinder's content cannot be carried to the next tank.

How a day is told: :mod:`inventory.queries.told_days`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import cast

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import day_bounds
from inventory.forecast.types import (
    By,
    Case,
    Event,
    HarmClass,
    Kind,
    Observation,
    PlanSegment,
    Pool,
    Supplier,
    Unit,
    Vessel,
)
from inventory.models import Container, Item
from inventory.queries.keys import container_key, item_key
from inventory.queries.levels import Level, base_at, levels_of, unusable_of
from inventory.queries.measured_facts import Weighed
from inventory.queries.stock_facts import Feed, Moved, StockFacts, is_gas, stock_facts
from inventory.queries.suppliers import delivering, is_past_cut_off
from inventory.queries.told_answers import answer_of, calibration_of
from inventory.queries.told_days import told

FILL_SD = 0.01
"""A full container is known to 1 % (common practice, no source)."""
BOOK_SD = 0.02
"""A balance carried over from before the window, relative to a full container (own assumption)."""
DECANT_SD = 0.05
"""An amount that was poured, or said to be gone, relative to it (own assumption)."""
UNITS: dict[str, tuple[Unit, float]] = {
    "volume": ("mL", 1000.0),
    "mass": ("g", 1000.0),
    "piece": ("piece", 1.0),
}


@dataclass(frozen=True, slots=True)
class Subject:
    """What is projected: a container that feeds tanks, or (container None) all of an item."""

    key: str
    item: Item
    container: Container | None
    stock: Case | Pool
    level: int
    """Content now by the ledger; for gas this morning, by the plan since the last weighing, so that
    the same day's facts give the same figure [base units]."""
    measured_at: datetime | None
    per_day: float
    """Mean planned use a day of the coming week [base units]."""
    supplier: Supplier | None = None
    """How its item is delivered."""


def forecast_subjects(
    showroom: Showroom,
    at: datetime,
    *,
    item_ids: Collection[int] | None = None,
    container_ids: Collection[int] | None = None,
) -> list[Subject]:
    """Every container that feeds a tank, and every item with a plan, as cases. Constant queries.

    container_ids : only these containers; then no item, whose stock is more than theirs.
    """
    facts = stock_facts(
        showroom, at, item_ids=item_ids, container_ids=container_ids, with_uses=True
    )
    found = subjects_of(facts)
    return found if container_ids is None else [one for one in found if one.container]


def subjects_of(facts: StockFacts) -> list[Subject]:
    """The same from facts already read, with uses; containers first, then items, each by key."""
    levels = levels_of(facts)
    fed = [c for pk, c in sorted(facts.containers.items()) if facts.is_fed_now(pk)]
    out = [_of_container(facts, container, levels) for container in fed]
    items = {c.item_id: c.item for c in facts.containers.values()}
    for item_id, item in sorted(items.items()):
        pool = _of_item(
            facts, item, [s for s in out if s.item.pk == item_id and s.container], levels
        )
        if pool is not None:
            out.append(pool)
    return out


def per_unit(item: Item) -> tuple[Unit, float]:
    """Unit of the projection and base units in one of it."""
    return UNITS[item.dimension]


# --- a container --------------------------------------------------------------------------------
def _of_container(facts: StockFacts, container: Container, levels: dict[int, Level]) -> Subject:
    feeds = [f for f in facts.feeds[container.pk] if f.item_id == container.item_id]
    level = levels[container.pk]
    case = _case(facts, container, feeds)
    morning, _ = day_bounds(facts.today, facts.showroom.tz, facts.showroom.cut_off_hour)
    return Subject(
        key=container_key(container.pk),
        item=container.item,
        container=container,
        stock=case,
        level=base_at(facts, container, morning),
        measured_at=level.measured_at,
        per_day=_per_day(case) * per_unit(container.item)[1],
        supplier=_supplier(facts, container.item),
    )


def _case(facts: StockFacts, container: Container, feeds: list[Feed]) -> Case:
    unit, base = per_unit(container.item)
    first = max(facts.first_day, _first_day(facts, container, feeds))
    plan, ticks = told(facts, container, feeds, first, base)
    return Case(
        case_id=container_key(container.pk),
        group=item_key(container.item_id),
        kind=_kind(container),
        unit=unit,
        as_of=facts.today,
        history_from=first,
        vessels=(
            Vessel(
                container.code,
                container.capacity_base / base,
                FILL_SD * container.capacity_base / base,
                unusable_of(container) / base,
            ),
        ),
        plan=tuple(plan),
        ticks=ticks,
        ticked=not is_gas(container),
        observations=tuple(_observations(facts, container, first)),
        events=tuple(_events(facts, container, first)),
        calibration=calibration_of(facts, container),
        supplier=_supplier(facts, container.item) if is_gas(container) else None,
        harm=cast("HarmClass", container.item.harm_class),
        answers=tuple(answer_of(found) for found in facts.found.get(container.pk, ())),
    )


def _first_day(facts: StockFacts, container: Container, feeds: list[Feed]) -> date:
    days = [f.start for f in feeds]
    days += [moved.day for moved in facts.moved.get(container.pk, ())]
    days += [day for _, day in facts.uses.get(container.pk, {})]
    if facts.balances_before.get(container.pk):
        return facts.first_day
    return min(days, default=facts.today)


def _observations(facts: StockFacts, container: Container, first: date) -> Iterator[Observation]:
    """The book at the start, unless the scale set it on the first day; then every weighing."""
    _, base = per_unit(container.item)
    if _set_by_scale(facts, container, first) is None:
        before = facts.balances_before.get(container.pk, 0) if first == facts.first_day else 0
        sd = (BOOK_SD if before else FILL_SD / 10) * container.capacity_base / base
        yield Observation(first - timedelta(days=1), "full", before / base, container.code, sd)
    for seen in facts.weighed.get(container.pk, ()):
        day = _told_on(facts, container, seen, first)
        if day >= first - timedelta(days=1):
            yield Observation(
                on=day,
                kind="weigh",
                value=seen.net / base,
                container=container.code,
                sd=seen.sd / base,
                resolution=seen.resolution / base,
                scale=str(seen.scale_id),
            )
    for looked in facts.looked.get(container.pk, ()):
        if looked.day >= first:
            yield Observation(looked.day, "eye", looked.quarters / 4, container.code)


def _set_by_scale(facts: StockFacts, container: Container, first: date) -> datetime | None:
    """When a weighing on the first day set the level, so that what was booked before it is told."""
    early = [seen.at for seen in facts.weighed.get(container.pk, ()) if seen.day <= first]
    return max(early, default=None)


def _told_on(facts: StockFacts, container: Container, seen: Weighed, first: date) -> date:
    """The day at whose end a weighing counts: its own if most of that day's use was before it."""
    booked = [m.at for m in facts.moved.get(container.pk, ()) if m.day == seen.day]
    if seen.day > first and any(moment <= seen.at for moment in booked):
        return seen.day
    if is_gas(container):
        late = seen.at.astimezone(facts.showroom.tz).time() >= time(14)
        return seen.day if late else seen.day - timedelta(days=1)
    moments = [
        row.at
        for (_, day), rows in facts.uses.get(container.pk, {}).items()
        if day == seen.day
        for row in rows
    ]
    before = sum(moment <= seen.at for moment in moments)
    return seen.day if moments and 2 * before >= len(moments) else seen.day - timedelta(days=1)


def _events(facts: StockFacts, container: Container, first: date) -> Iterator[Event]:
    _, base = per_unit(container.item)
    weighed_at = _set_by_scale(facts, container, first)
    for moved in facts.moved.get(container.pk, ()):
        if moved.day < first or moved.at > facts.at or (weighed_at and moved.at <= weighed_at):
            continue
        yield Event(moved.day, moved.kind, moved.amount / base, _sd(moved) / base)


def _sd(moved: Moved) -> float:
    """How well the amount of a movement is known [base units]."""
    if moved.sd is not None:
        return float(moved.sd)
    return (FILL_SD if moved.kind in {"receipt", "found"} else DECANT_SD) * abs(moved.amount)


# --- an item ------------------------------------------------------------------------------------
def _of_item(
    facts: StockFacts, item: Item, fed: list[Subject], levels: dict[int, Level]
) -> Subject | None:
    """All of an item as one stock; None for gas and for what no plan uses, unless it is pieces."""
    mine = [c for c in facts.containers.values() if c.item_id == item.pk]
    places = [s.stock for s in fed if isinstance(s.stock, Case)]
    loose = _without_container(facts, item, {f.tank_id for s in fed for f in _feeds_now(facts, s)})
    if loose is not None:
        places.append(loose)
    if any(is_gas(c) for c in mine):
        return None
    if not any(p.plan for p in places):
        return _of_pieces(facts, item, sum(levels[c.pk].base for c in mine))
    _, base = per_unit(item)
    in_use = {s.container.pk for s in fed if s.container}
    rest = [c for c in mine if c.pk not in in_use]
    reserve = sum(max(0, levels[c.pk].usable_base) for c in rest)
    # what was poured from one container of the item into another leaves their sum as it was
    spread = sum((FILL_SD * c.capacity_base / base) ** 2 for c in rest) ** 0.5
    measured = [s.measured_at for s in fed if s.measured_at]
    return Subject(
        key=item_key(item.pk),
        item=item,
        container=None,
        stock=Pool(
            case_id=item_key(item.pk),
            places=tuple(places),
            reserve=reserve / base,
            reserve_sd=spread,
            supplier=_supplier(facts, item),
            harm=cast("HarmClass", item.harm_class),
        ),
        level=sum(levels[c.pk].base for c in mine),
        measured_at=max(measured, default=None),
        per_day=sum(_per_day(place) for place in places) * base,
        supplier=_supplier(facts, item),
    )


def _of_pieces(facts: StockFacts, item: Item, level: int) -> Subject | None:
    """Pieces that no plan uses, by the days on which they were asked for."""
    days = facts.asked.get(item.pk)
    if item.dimension != "piece" or not days:
        return None
    first = min(days)
    demand = tuple(
        days.get(first + timedelta(days=n), 0) for n in range((facts.today - first).days + 1)
    )
    case = Case(
        case_id=item_key(item.pk),
        kind="piece",
        unit="piece",
        as_of=facts.today,
        history_from=first,
        vessels=(),
        plan=(),
        observations=(Observation(facts.today, "count", float(max(0, level))),),
        supplier=_supplier(facts, item),
        harm=cast("HarmClass", item.harm_class),
        demand=demand,
    )
    return Subject(item_key(item.pk), item, None, case, level, None, sum(demand) / len(demand))


def _feeds_now(facts: StockFacts, subject: Subject) -> list[Feed]:
    if subject.container is None:
        return []
    return [f for f in facts.feeds[subject.container.pk] if f.holds(facts.today)]


def _without_container(facts: StockFacts, item: Item, fed: set[int]) -> Case | None:
    """Tanks that have a plan for the item but no container: their use counts all the same."""
    unit, base = per_unit(item)
    tomorrow = facts.today + timedelta(days=1)
    plan = [
        PlanSegment(
            facts.codes.get(tank_id, f"tank {tank_id}"),
            cast("By", step.means),
            max(step.from_on, tomorrow),
            step.to_on,
            step.weekdays,
            step.amount_base / base,
        )
        for (tank_id, item_id, _), steps in sorted(facts.plans.items())
        if item_id == item.pk and tank_id not in fed
        for step in steps
        if step.to_on is None or step.to_on > tomorrow
    ]
    if not plan:
        return None
    return Case(
        case_id=f"{item_key(item.pk)}:no container",
        kind="piece" if unit == "piece" else "bottle" if unit == "mL" else "tub",
        unit=unit,
        as_of=facts.today,
        history_from=tomorrow,
        vessels=(),
        plan=tuple(plan),
        observations=(Observation(facts.today, "count", 0.0),),
    )


# --- shared -------------------------------------------------------------------------------------
def _supplier(facts: StockFacts, item: Item) -> Supplier | None:
    row = facts.suppliers.get(item.pk)
    if row is None:
        return None
    return delivering(
        row.supplier,
        facts.leads.get(row.supplier_id, ()),
        lead_days=row.lead_days,
        living=item.is_living,
        past_cut_off=is_past_cut_off(row.supplier, facts.at),
    )


KIND_OF: dict[str, Kind] = {
    "bottle": "bottle",
    "can": "can",
    "cylinder": "cylinder",
    "tub": "tub",
    "bag": "tub",
    "box": "tub",
}


def _kind(container: Container) -> Kind:
    if container.item.dimension == "piece":
        return "piece"
    return KIND_OF[container.kind]


def _per_day(case: Case) -> float:
    """Mean planned use a day of the coming week, in the unit of the case."""
    week = [case.as_of + timedelta(days=n) for n in range(1, 8)]
    return sum(_asked(segment, day) for segment in case.plan for day in week) / len(week)


def _asked(segment: PlanSegment, day: date) -> float:
    inside = segment.start <= day and (segment.end is None or day < segment.end)
    return segment.per_day if inside and segment.weekdays[day.weekday()] == "1" else 0.0
