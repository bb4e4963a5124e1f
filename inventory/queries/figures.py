"""What does the gallery use by plan, and what does it hold? The figures that an owner asks for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction

from gallery_ops.kernel.models import Showroom
from inventory.forecast import press, whole_days
from inventory.models import Item, SupplyPurpose
from inventory.queries.levels import Level, levels_of, unusable_of
from inventory.queries.plans import Step
from inventory.queries.stock_facts import StockFacts, is_gas, stock_facts

DAYS_A_QUARTER = Fraction(365, 4)
ML_OR_G = 1_000


@dataclass(frozen=True, slots=True)
class ItemFigures:
    """One item: what is held, what the plan asks, and how long that lasts with no delivery.

    Amounts in mL, g or pieces (``unit``); ``whole_days`` by plan alone, None when nothing is
    planned. ``largest_whole_days`` is the same for the largest container of the item, full.
    """

    code: str
    name: str
    unit: str
    held: float
    planned_per_day: float
    whole_days: int | None
    largest: float
    largest_whole_days: int | None


@dataclass(frozen=True, slots=True)
class UseFigures:
    """Planned use of a showroom on a day, from the plans in force."""

    dose_ml_per_day: float
    dosed_tanks: int
    co2_g_per_day: float
    gassed_tanks: int
    co2_kg_per_quarter: float
    cylinder_changes_per_quarter: float
    food_g_per_feeding_day: float
    food_g_per_week: float
    feeding_days_per_week: int
    fed_tanks: int
    items: tuple[ItemFigures, ...]


def use_figures(showroom: Showroom, at: datetime) -> UseFigures:
    """Planned use on the business day of ``at``, and what is held then. Constant queries.

    A dose or gas flow given on some weekdays counts as its mean over a week; food as the mean of
    the days on which something is fed.
    """
    facts = stock_facts(showroom, at)
    levels = levels_of(facts)
    steps = [s for found in facts.plans.values() for s in found if _in_force(s, facts.today)]
    dose = [s for s in steps if s.purpose == SupplyPurpose.DOSE]
    gas = [s for s in steps if s.purpose == SupplyPurpose.GAS]
    food = [s for s in steps if s.purpose == SupplyPurpose.FOOD]
    days = _by_weekday(food)
    feeding = [amount for amount in days if amount]
    co2 = _per_day(gas)
    return UseFigures(
        dose_ml_per_day=_shown(_per_day(dose)),
        dosed_tanks=_tanks(dose),
        co2_g_per_day=_shown(co2),
        gassed_tanks=_tanks(gas),
        co2_kg_per_quarter=_shown(co2 * DAYS_A_QUARTER / 1_000, 4),
        cylinder_changes_per_quarter=_shown(_changes(facts) * ML_OR_G, 4),
        food_g_per_feeding_day=_shown(Fraction(sum(feeding), max(1, len(feeding)))),
        food_g_per_week=_shown(Fraction(sum(days))),
        feeding_days_per_week=len(feeding),
        fed_tanks=_tanks(food),
        items=tuple(_items(facts, levels, steps)),
    )


def full_dose_ml(items: Iterable[Item], outer_mm3: Iterable[int]) -> float:
    """Dose a day if every tank of these volumes were planted and at full dose [mL]."""
    tanks = list(outer_mm3)
    total = sum(
        press.full_dose_ul(volume, item.full_dose_ul_per_l)
        for item in items
        if item.full_dose_ul_per_l
        for volume in tanks
    )
    return _shown(Fraction(total))


def dosed_items(showroom: Showroom) -> list[Item]:
    """Items that have a full dose, in one query."""
    return list(
        Item.objects.of(showroom)
        .filter(retired_at=None, voided_at=None, full_dose_ul_per_l__isnull=False)
        .order_by("code")
    )


def _in_force(step: Step, day: date) -> bool:
    return step.from_on <= day and (step.to_on is None or day < step.to_on)


def _per_day(steps: Iterable[Step]) -> Fraction:
    """Mean of a week [base units a day]."""
    return sum((Fraction(s.amount_base * s.weekdays.count("1"), 7) for s in steps), Fraction(0))


def _by_weekday(steps: Iterable[Step]) -> list[int]:
    days = [0] * 7
    for step in steps:
        for n, mark in enumerate(step.weekdays):
            days[n] += step.amount_base if mark == "1" else 0
    return days


def _tanks(steps: Iterable[Step]) -> int:
    return len({s.tank_id for s in steps if s.amount_base and "1" in s.weekdays})


def _changes(facts: StockFacts) -> Fraction:
    """Cylinder changes a quarter by plan, each changed at what stays in it."""
    total = Fraction(0)
    for pk, container in facts.containers.items():
        usable = container.capacity_base - unusable_of(container)
        if not is_gas(container) or usable <= 0:
            continue
        feeds = [f for f in facts.feeds.get(pk, ()) if f.holds(facts.today)]
        for feed in feeds:
            found = facts.plans.get((feed.tank_id, feed.item_id, feed.purpose), ())
            per_day = _per_day(s for s in found if _in_force(s, facts.today))
            total += per_day * Fraction(feed.share_permille, 1_000) * DAYS_A_QUARTER / usable
    return total


def _items(
    facts: StockFacts, levels: Mapping[int, Level], steps: list[Step]
) -> Iterable[ItemFigures]:
    items = {c.item_id: c.item for c in facts.containers.values()}
    for item_id, item in sorted(items.items(), key=lambda pair: pair[1].code):
        mine = [level for level in levels.values() if level.container.item_id == item_id]
        held = sum(level.base for level in mine)
        usable = sum(max(0, level.usable_base) for level in mine)
        largest = max((level.container for level in mine), key=lambda c: (c.capacity_base, c.pk))
        per_day = _per_day(s for s in steps if s.item_id == item_id)
        yield ItemFigures(
            code=item.code,
            name=item.name,
            unit={"volume": "mL", "mass": "g", "piece": "piece"}[item.dimension],
            held=_unit(item, held),
            planned_per_day=_unit(item, per_day),
            whole_days=_days(usable, per_day),
            largest=_unit(item, largest.capacity_base),
            largest_whole_days=_days(largest.capacity_base - unusable_of(largest), per_day),
        )


def _days(base: int, per_day: Fraction) -> int | None:
    return int(whole_days.days_until_empty(base, per_day)) if per_day > 0 else None


def _unit(item: Item, base: int | Fraction) -> float:
    return float(base) if item.dimension == "piece" else _shown(Fraction(base))


def _shown(base: Fraction, decimals: int = 3) -> float:
    """Base units as mL or g, rounded for the eye."""
    return round(float(base / ML_OR_G), decimals)
