"""What if? The same projections with another plan ahead. Nothing is saved.

The plan of the days ahead is changed, and all else stays as it is known now: content, learned use,
deliveries. Both answers, as it is and if so, are made by one run each of the same engine.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from math import ceil
from typing import NoReturn

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Showroom
from inventory.forecast.engine import project
from inventory.forecast.otherwise import (
    closed,
    new_line,
    otherwise,
    planned_within,
    ramps_at_their_end,
    times,
)
from inventory.forecast.types import HORIZON_DAYS, By, Case, Observation, Pool, Projection
from inventory.models import Item, ItemKind
from inventory.queries.forecast_cases import Subject, per_unit, subjects_of
from inventory.queries.plans import Step
from inventory.queries.stock_facts import StockFacts, is_gas, spoken_name, stock_facts
from tanks.models import Tank

MOST_TANKS = 20
DOSE_PERCENT = (-90, 300)
SIDE_MM = (100, 6_000)
LONGEST_HOLIDAY_DAYS = 120
MORE_DAYS = 56
FOOD_AFTER_DAYS = 28
"""Animals, and so food, come to a new tank after its start-up (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class NewTanks:
    """So many more tanks of outer sides [mm] from a day on, fed and dosed as the others are."""

    count: int
    length_mm: int
    width_mm: int
    height_mm: int
    from_on: date

    @property
    def outer_l(self) -> float:
        """Outer volume of one [L]."""
        return self.length_mm * self.width_mm * self.height_mm / 1e6


@dataclass(frozen=True, slots=True)
class Choices:
    """What is asked. Whatever is left out stays as it is.

    ``closed_to`` is the first day open again. While closed nothing is given by hand: doses stop,
    food goes on by feeder where ``feeders_when_closed``. ``dose_percent`` is a change: 10 is ten
    percent more of everything that is dosed.
    """

    closed_from: date | None = None
    closed_to: date | None = None
    feeders_when_closed: bool = True
    tanks: NewTanks | None = None
    startups_full: bool = False
    dose_percent: int = 0

    @property
    def is_nothing(self) -> bool:
        """Does everything stay as it is?"""
        return (
            self.closed_from is None
            and self.tanks is None
            and not self.startups_full
            and not self.dose_percent
        )


@dataclass(frozen=True, slots=True)
class Dates:
    """A range on the axis; None: not within 400 days. ``quantiles`` are days from today."""

    earliest: date | None
    likely: date | None
    latest: date | None
    order_by: date | None
    quantiles: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class WhatIfLine:
    """One item, or one gas cylinder, as it is and if so.

    ``moved_days``: likely day if so after (+) or before (-) as it is; 0.0 "as it was"; None where
    one of them lies beyond the horizon. ``order_moved_days`` the same of the last day to order.
    ``more_base``: how much more (+) is asked for within eight weeks [base units].
    """

    key: str
    name: str
    item_name: str
    kind: str
    dimension: str
    harm_class: str
    level_base: int
    now: Dates
    then: Dates
    moved_days: float | None
    order_moved_days: int | None
    more_base: int
    out_before_next_now: float | None
    out_before_next_then: float | None


@dataclass(frozen=True, slots=True)
class WhatIf:
    """Both answers for every item in use and every cylinder, soonest order first."""

    today: date
    choices: Choices
    lines: tuple[WhatIfLine, ...]
    new_tanks_without: tuple[str, ...]
    """Items of which nobody can say what one more tank would get."""


def what_if(showroom: Showroom, at: datetime, choices: Choices) -> WhatIf:
    """Both answers side by side; constant queries, nothing stored.

    Raises Refused naming the field when a choice is out of range.
    """
    facts = stock_facts(showroom, at, with_uses=True)
    _check(choices, facts.today)
    subjects = [
        one
        for one in subjects_of(facts)
        if one.container is None or (is_gas(one.container) and facts.is_fed_now(one.container.pk))
    ]
    rates = _rates(facts, [one.item for one in subjects]) if choices.tanks else {}
    then = [_changed(one, choices, rates) for one in subjects]
    now_found = project([one.stock for one in subjects])
    then_found = project(then)
    lines = [
        _line(facts, one, stock, now, if_so)
        for one, stock, now, if_so in zip(subjects, then, now_found, then_found, strict=True)
    ]
    lines.sort(key=lambda line: (line.then.order_by or date.max, line.harm_class, line.name))
    return WhatIf(
        today=facts.today,
        choices=choices,
        lines=tuple(lines),
        new_tanks_without=tuple(
            one.item.name
            for one in subjects
            if choices.tanks and one.container is None and one.item.pk not in rates
        ),
    )


def _changed(subject: Subject, choices: Choices, rates: Mapping[int, float]) -> Case | Pool:
    stock, kind = subject.stock, subject.item.kind
    tomorrow = (stock.places[0] if isinstance(stock, Pool) else stock).as_of + timedelta(days=1)
    is_dose = kind not in {ItemKind.GAS, ItemKind.FOOD}
    if choices.tanks is not None and isinstance(stock, Pool) and subject.item.pk in rates:
        per_day = rates[subject.item.pk] * choices.tanks.outer_l
        stock = _with_tanks(stock, choices, per_day, is_food=kind == ItemKind.FOOD)
    if choices.startups_full and is_dose:
        stock = otherwise(stock, ramps_at_their_end(tomorrow))
    if choices.dose_percent and is_dose:
        stock = otherwise(stock, times(1 + choices.dose_percent / 100))
    if choices.closed_from is not None and choices.closed_to is not None:
        fed: By | None = None
        if kind == ItemKind.FOOD and choices.feeders_when_closed:
            fed = "feeder"
        stock = otherwise(stock, closed(choices.closed_from, choices.closed_to, fed_by=fed))
    return stock


def _with_tanks(stock: Pool, choices: Choices, per_day: float, *, is_food: bool) -> Pool:
    """The pool with the use of the new tanks beside its places."""
    tanks, first = choices.tanks, stock.places[0]
    if tanks is None:
        return stock
    start = max(tanks.from_on, first.as_of + timedelta(days=1))
    if is_food:
        start += timedelta(days=FOOD_AFTER_DAYS)
    ramp = not is_food and not choices.startups_full
    return replace(
        stock,
        places=(
            *stock.places,
            Case(
                case_id=f"{stock.case_id}:new tanks",
                kind=first.kind,
                unit=first.unit,
                as_of=first.as_of,
                history_from=first.as_of + timedelta(days=1),
                vessels=(),
                plan=new_line("new tanks", per_day * tanks.count, start, ramp=ramp),
                observations=(Observation(first.as_of, "count", 0.0),),
            ),
        ),
    )


def _rates(facts: StockFacts, items: Collection[Item]) -> dict[int, float]:
    """What one new litre of outer volume gets a day of each item: the full dose, else the mean of
    the tanks that get it now [units of the case per L]."""
    tank_ids = {tank_id for tank_id, _, _ in facts.plans}
    outer = {
        tank.pk: tank.length_mm * tank.width_mm * tank.height_mm / 1e6
        for tank in Tank.objects.of(facts.showroom).filter(pk__in=tank_ids)
    }
    out: dict[int, float] = {}
    for item in items:
        _, base = per_unit(item)
        if item.full_dose_ul_per_l:
            out[item.pk] = item.full_dose_ul_per_l / base
            continue
        given = {
            tank_id: sum(
                s.amount_base * s.weekdays.count("1") / 7 for s in found if _holds(s, facts)
            )
            for (tank_id, item_id, _), found in facts.plans.items()
            if item_id == item.pk
        }
        litres = sum(outer.get(tank_id, 0.0) for tank_id, amount in given.items() if amount)
        if litres and item.kind != ItemKind.GAS:
            out[item.pk] = sum(given.values()) / litres / base
    return out


def _holds(step: Step, facts: StockFacts) -> bool:
    return step.from_on <= facts.today and (step.to_on is None or facts.today < step.to_on)


def _line(
    facts: StockFacts, subject: Subject, then: Case | Pool, now: Projection, if_so: Projection
) -> WhatIfLine:
    item, container = subject.item, subject.container
    _, base = per_unit(item)
    before, after = _dates(now), _dates(if_so)
    known = before.likely is not None and after.likely is not None
    orders = now.order_by, if_so.order_by
    ordered = [n for n in orders if n is not None and n < HORIZON_DAYS]
    more = planned_within(then, MORE_DAYS) - planned_within(subject.stock, MORE_DAYS)
    return WhatIfLine(
        key=subject.key,
        name=spoken_name(container, facts.tanks_of(container.pk)) if container else item.name,
        item_name=item.name,
        kind=str(item.kind),
        dimension=str(item.dimension),
        harm_class=str(item.harm_class),
        level_base=subject.level,
        now=before,
        then=after,
        moved_days=if_so.quantile(0.5) - now.quantile(0.5) if known else None,
        order_moved_days=ordered[1] - ordered[0] if len(ordered) == 2 else None,
        more_base=round(more * (1.0 if now.factor is None else now.factor) * base),
        out_before_next_now=now.deliveries[0].out_before if now.deliveries else None,
        out_before_next_then=if_so.deliveries[0].out_before if if_so.deliveries else None,
    )


def _dates(found: Projection) -> Dates:
    def day(level: float) -> date | None:
        days = found.quantile(level)
        return None if days >= HORIZON_DAYS else found.as_of + timedelta(days=ceil(days))

    order = found.order_by
    known = order is not None and order < HORIZON_DAYS
    return Dates(
        earliest=day(0.10),
        likely=day(0.50),
        latest=day(0.90),
        order_by=found.as_of + timedelta(days=order or 0) if known else None,
        quantiles=found.quantiles,
    )


def _check(choices: Choices, today: date) -> None:
    low, high = DOSE_PERCENT
    if not low <= choices.dose_percent <= high:
        _refuse("dose_percent", "Doses", f"{choices.dose_percent} %", f"{low} to {high} %")
    _check_closed(choices.closed_from, choices.closed_to)
    if choices.tanks is not None:
        _check_tanks(choices.tanks, today)


def _check_closed(start: date | None, end: date | None) -> None:
    if start is None and end is None:
        return
    if start is None or end is None:
        field = "closed_from" if start is None else "closed_to"
        _refuse(field, "Closed", "one day alone", "a first day and the first day open again")
    if end <= start:
        _refuse("closed_to", "Open again", f"{end}", f"a day after {start}")
    if (end - start).days > LONGEST_HOLIDAY_DAYS:
        _refuse("closed_to", "Open again", f"{end}", f"within {LONGEST_HOLIDAY_DAYS} days")


def _check_tanks(tanks: NewTanks, today: date) -> None:
    if not 1 <= tanks.count <= MOST_TANKS:
        _refuse("count", "New tanks", str(tanks.count), f"1 to {MOST_TANKS}")
    for field in ("length_mm", "width_mm", "height_mm"):
        side = getattr(tanks, field)
        if not SIDE_MM[0] <= side <= SIDE_MM[1]:
            _refuse(field, "Side", f"{side} mm", f"{SIDE_MM[0]} to {SIDE_MM[1]} mm")
    last = today + timedelta(days=HORIZON_DAYS)
    if not today <= tanks.from_on <= last:
        _refuse("from_on", "New tanks from", f"{tanks.from_on}", f"{today} to {last}")


def _refuse(field: str, what: str, given: str, allowed: str) -> NoReturn:
    raise Refused(
        "out_of_range",
        f"{what}: {given} is not allowed.",
        {field: f"Allowed: {allowed}."},
        "Change the choice; nothing is saved.",
    )
