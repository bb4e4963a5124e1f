"""What does the forecast get to know? Facts and plans of a showroom as cases, in constant queries.

A container that feeds tanks is a case of its own; an item is a pool of these and of what stands
unopened beside them. Gas has cases only: a cylinder's content cannot be carried to the next tank.

How a day is told: what was given that day is the record itself (presses times the measured press),
so a factor of 1 means that the record is true; what is planned ahead is what the instruction will
give with the press as it was last measured. A day that is planned but has no record is unticked;
today's plan counts as done, since the projection starts at the end of today.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import cast
from zoneinfo import ZoneInfo

from gallery_ops.kernel.models import Showroom
from inventory.forecast import press
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
from inventory.queries.levels import Level, levels_of, unusable_of
from inventory.queries.plans import Step
from inventory.queries.stock_facts import Feed, StockFacts, Weighed, is_gas, stock_facts

FILL_SD = 0.01
"""A full container is known to 1 % (common practice, no source)."""
BOOK_SD = 0.02
"""A balance carried over from before the window, relative to a full container (own assumption)."""
DECANT_SD = 0.05
EVERY_DAY = "1111111"
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
    """Content now by the ledger, for gas by the plan since the last weighing [base units]."""
    measured_at: datetime | None
    per_day: float
    """Mean planned use a day of the coming week [base units]."""


def forecast_subjects(
    showroom: Showroom, at: datetime, *, item_ids: Collection[int] | None = None
) -> list[Subject]:
    """Every container that feeds a tank, and every item with a plan, as cases. Constant queries."""
    return subjects_of(stock_facts(showroom, at, item_ids=item_ids))


def subjects_of(facts: StockFacts) -> list[Subject]:
    """The same from facts already read; containers first, then items, each by key."""
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
    return Subject(
        key=container_key(container.pk),
        item=container.item,
        container=container,
        stock=case,
        level=level.base,
        measured_at=level.measured_at,
        per_day=_per_day(case) * per_unit(container.item)[1],
    )


def _case(facts: StockFacts, container: Container, feeds: list[Feed]) -> Case:
    unit, base = per_unit(container.item)
    first = max(facts.first_day, _first_day(facts, container, feeds))
    plan, ticks = _told(facts, container, feeds, first)
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
        supplier=_supplier(facts, container.item) if is_gas(container) else None,
        harm=cast("HarmClass", container.item.harm_class),
    )


def _first_day(facts: StockFacts, container: Container, feeds: list[Feed]) -> date:
    days = [f.start for f in feeds]
    days += [moved.day for moved in facts.moved.get(container.pk, ())]
    days += [day for _, day in facts.uses.get(container.pk, {})]
    if facts.balances_before.get(container.pk):
        return facts.first_day
    return min(days, default=facts.today)


def _told(
    facts: StockFacts, container: Container, feeds: list[Feed], first: date
) -> tuple[list[PlanSegment], dict[str, str]]:
    """Past days as they were given, days ahead as they are planned; one line a tank."""
    _, base = per_unit(container.item)
    tanks = sorted({f.tank_id for f in feeds} | {t for t, _ in facts.uses.get(container.pk, {})})
    plan: list[PlanSegment] = []
    ticks: dict[str, str] = {}
    for tank_id in tanks:
        own = [f for f in feeds if f.tank_id == tank_id]
        steps = facts.plans.get((tank_id, container.item_id, own[0].purpose), []) if own else []
        line = facts.codes.get(tank_id, f"tank {tank_id}")
        days = list(_days(facts, container, tank_id, own, steps, first))
        plan += _runs(line, first, days, base)
        plan += _ahead(facts, container, own, steps, line, base)
        ticks[line] = "".join(mark for _, mark, _ in days)
    return plan, ticks


def _days(
    facts: StockFacts,
    container: Container,
    tank_id: int,
    own: list[Feed],
    steps: list[Step],
    first: date,
) -> Iterator[tuple[float, str, By]]:
    """Amount, tick and giver of each past day of one tank."""
    uses = facts.uses.get(container.pk, {})
    for n in range((facts.today - first).days + 1):
        day = first + timedelta(days=n)
        feed = next((f for f in own if f.holds(day)), None)
        planned, by = _planned(facts, container, feed, steps, day)
        told = uses.get((tank_id, day), ())
        given = sum(row.given for row in told)
        if given:
            yield float(given), "d", by
        elif told:
            yield planned or float(told[-1].planned), "s", by
        elif planned and not _given_by_another(facts, container, tank_id, day):
            yield planned, "d" if day == facts.today else "m", by
        else:
            yield 0.0, "-", by


def _given_by_another(facts: StockFacts, container: Container, tank_id: int, day: date) -> bool:
    return bool(facts.given_elsewhere.get((tank_id, container.item_id, day)))


def _planned(
    facts: StockFacts, container: Container, feed: Feed | None, steps: list[Step], day: date
) -> tuple[float, By]:
    if feed is None:
        return 0.0, "valve" if is_gas(container) else "hand"
    due = [s for s in steps if s.on(day)]
    amount = sum(_instructed(facts, container, s, day) for s in due)
    by = due[-1].means if due else ("valve" if is_gas(container) else "hand")
    return amount * feed.share_permille / 1000, cast("By", by)


def _instructed(facts: StockFacts, container: Container, step: Step, day: date) -> float:
    """What the instruction for a planned amount really gives on a day [base units]."""
    nominal = container.press_nominal_ul
    if container.item.dimension != "volume" or not nominal or step.means != "hand":
        return float(step.amount_base)
    told = press.instruction(step.amount_base, nominal)
    if told.presses is None:
        return float(step.amount_base)
    measured = [p.ul_per_press for p in facts.pressed.get(container.pk, ()) if p.day <= day]
    return float(press.given_by(told.presses, measured[-1] if measured else nominal))


def _runs(
    line: str, first: date, days: list[tuple[float, str, By]], base: float
) -> Iterator[PlanSegment]:
    """Equal days put together."""
    start = 0
    for n in range(1, len(days) + 1):
        same = n < len(days) and (days[n][0], days[n][2]) == (days[start][0], days[start][2])
        if same:
            continue
        amount, _, by = days[start]
        if amount:
            yield PlanSegment(
                line,
                by,
                first + timedelta(days=start),
                first + timedelta(days=n),
                EVERY_DAY,
                amount / base,
            )
        start = n


def _ahead(
    facts: StockFacts,
    container: Container,
    own: list[Feed],
    steps: list[Step],
    line: str,
    base: float,
) -> Iterator[PlanSegment]:
    tomorrow = facts.today + timedelta(days=1)
    feed = next((f for f in own if f.holds(facts.today)), None)
    if feed is None:
        return
    for step in steps:
        if step.to_on is not None and step.to_on <= tomorrow:
            continue
        amount = _instructed(facts, container, step, tomorrow) * feed.share_permille / 1000
        yield PlanSegment(
            line,
            cast("By", step.means),
            max(step.from_on, tomorrow),
            step.to_on,
            step.weekdays,
            amount / base,
        )


def _observations(facts: StockFacts, container: Container, first: date) -> Iterator[Observation]:
    """The book at the start, then every weighing."""
    _, base = per_unit(container.item)
    before = facts.balances_before.get(container.pk, 0) if first == facts.first_day else 0
    sd = (BOOK_SD if before else FILL_SD / 10) * container.capacity_base / base
    yield Observation(first - timedelta(days=1), "full", before / base, container.code, sd)
    for seen in facts.weighed.get(container.pk, ()):
        day = _told_on(facts, container, seen)
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


def _told_on(facts: StockFacts, container: Container, seen: Weighed) -> date:
    """The day at whose end a weighing counts: its own if most of that day's use was before it."""
    if any(m.at <= seen.at for m in facts.moved.get(container.pk, ()) if m.day == seen.day):
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
    for moved in facts.moved.get(container.pk, ()):
        if moved.day < first or moved.at > facts.at:
            continue
        share = FILL_SD if moved.kind in {"receipt", "found"} else DECANT_SD
        sd = share * abs(moved.amount) / base
        yield Event(moved.day, moved.kind, moved.amount / base, sd)


# --- an item ------------------------------------------------------------------------------------
def _of_item(
    facts: StockFacts, item: Item, fed: list[Subject], levels: dict[int, Level]
) -> Subject | None:
    """All of an item as one stock; None for gas and for an item that no plan uses."""
    mine = [c for c in facts.containers.values() if c.item_id == item.pk]
    places = [s.stock for s in fed if isinstance(s.stock, Case)]
    loose = _without_container(facts, item, {f.tank_id for s in fed for f in _feeds_now(facts, s)})
    if loose is not None:
        places.append(loose)
    if not places or any(is_gas(c) for c in mine) or not any(p.plan for p in places):
        return None
    _, base = per_unit(item)
    in_use = {s.container.pk for s in fed if s.container}
    rest = [c for c in mine if c.pk not in in_use]
    reserve = sum(max(0, levels[c.pk].usable_base) for c in rest)
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
    )


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
    who = row.supplier
    zone: ZoneInfo = facts.showroom.tz
    past = who.cut_off_at is not None and facts.at.astimezone(zone).time() > who.cut_off_at
    return Supplier(
        delivery_weekdays=tuple(n for n, mark in enumerate(who.delivery_weekdays) if mark == "1"),
        stated_lead_days=float(who.stated_lead_days if row.lead_days is None else row.lead_days),
        closures=tuple(sorted((c.from_on, c.to_on) for c in who.closures.all())),
        past_cut_off_today=past,
    )


KIND_OF: dict[str, Kind] = {
    "bottle": "bottle",
    "can": "can",
    "cylinder": "cylinder",
    "tub": "tub",
    "bag": "tub",
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
