"""What should be given to which tank on a day, and by which version of its plan?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from gallery_ops.kernel.models import Showroom
from inventory.models import Item, UsePlan, UsePlanLine
from tanks.models import Tank

PlanKey = tuple[int, str, int]
"""Tank id, purpose, item id."""


@dataclass(frozen=True, slots=True)
class Planned:
    """What is planned for one tank on one day of one item."""

    tank_id: int
    purpose: str
    item_id: int
    amount_base: int
    plan_id: int
    version: int
    means: tuple[str, ...]
    """``hand``, ``feeder`` or ``valve``, of the lines that give something that day."""


@dataclass(frozen=True, slots=True)
class Step:
    """A stretch of days with the same amount on certain weekdays, plan and line put together.

    ``to_on`` is the first day no longer in it; None = open.
    """

    tank_id: int
    purpose: str
    item_id: int
    plan_id: int
    version: int
    from_on: date
    to_on: date | None
    weekdays: str
    amount_base: int
    means: str

    def on(self, day: date) -> int:
        """The amount on that day [base units]; 0 outside it."""
        if day < self.from_on or (self.to_on is not None and day >= self.to_on):
            return 0
        return self.amount_base if self.weekdays[day.weekday()] == "1" else 0


def plans_in_force(
    showroom: Showroom, day: date, *, tank_ids: Iterable[int] | None = None
) -> Iterable[UsePlan]:
    """The versions in force on that day, of all tanks or of these, with tank, item and lines.

    Two queries.
    """
    rows = UsePlan.objects.of(showroom).filter(_holds(day), voided_at=None)
    if tank_ids is not None:
        rows = rows.filter(tank_id__in=list(tank_ids))
    found: Iterable[UsePlan] = (
        rows.select_related("tank", "item")
        .prefetch_related("lines")
        .order_by("tank_id", "purpose", "item_id")
    )
    return found


def plan_on(showroom: Showroom, tank: Tank, item: Item, purpose: str, day: date) -> UsePlan | None:
    """The version that was in force for this tank on that day."""
    found: UsePlan | None = (
        UsePlan.objects.of(showroom)
        .filter(_holds(day), tank=tank, item=item, purpose=purpose, voided_at=None)
        .order_by("-version")
        .first()
    )
    return found


def planned_for_day(
    showroom: Showroom, day: date, *, tank_ids: Iterable[int] | None = None, purpose: str = ""
) -> dict[PlanKey, Planned]:
    """What every tank (or these) should get on that day, in one query.

    A plan in force that gives nothing on this weekday is there with an amount of 0; a tank without
    a plan is not.
    """
    found: dict[PlanKey, Planned] = {}
    for step in steps(showroom, day, day, tank_ids=tank_ids, purpose=purpose, with_rests=True):
        key = (step.tank_id, step.purpose, step.item_id)
        before = found.get(key)
        amount = step.on(day)
        means = before.means if before else ()
        if amount and step.means not in means:
            means = (*means, step.means)
        found[key] = Planned(
            tank_id=step.tank_id,
            purpose=step.purpose,
            item_id=step.item_id,
            amount_base=amount + (before.amount_base if before else 0),
            plan_id=step.plan_id,
            version=step.version,
            means=means,
        )
    return found


def planned_base(showroom: Showroom, tank: Tank, day: date) -> dict[tuple[str, int], Planned]:
    """What one tank should get on that day, by purpose and item id."""
    rows = planned_for_day(showroom, day, tank_ids=[tank.pk])
    return {(row.purpose, row.item_id): row for row in rows.values()}


def planned_by(plan: UsePlan, day: date) -> int:
    """What this version says for that day [base units], whether or not it was in force."""
    return sum(
        line.amount_base
        for line in plan.lines.all()
        if line.from_on <= day
        and (line.to_on is None or day < line.to_on)
        and line.weekdays[day.weekday()] == "1"
    )


def steps(
    showroom: Showroom,
    first: date,
    last: date | None,
    *,
    tank_ids: Iterable[int] | None = None,
    item_ids: Iterable[int] | None = None,
    purpose: str = "",
    with_rests: bool = False,
) -> list[Step]:
    """Every step of every plan that touches the days from first to last, both included; one query.

    Parameters
    ----------
    last : None for no end
    with_rests : also steps of a plan in force whose line does not cover these days
    """
    rows = UsePlanLine.objects.of(showroom).filter(
        Q(plan__to_on__isnull=True) | Q(plan__to_on__gt=first), plan__voided_at=None
    )
    if last is not None:
        rows = rows.filter(plan__from_on__lte=last)
    if tank_ids is not None:
        rows = rows.filter(plan__tank_id__in=list(tank_ids))
    if item_ids is not None:
        rows = rows.filter(plan__item_id__in=list(item_ids))
    if purpose:
        rows = rows.filter(plan__purpose=purpose)
    made = _steps(rows.select_related("plan").order_by("plan_id", "from_on", "pk"))
    return [step for step in made if with_rests or _touches(step, first, last)]


def _steps(lines: Iterable[UsePlanLine]) -> Iterator[Step]:
    for line in lines:
        plan = line.plan
        ends = [day for day in (line.to_on, plan.to_on) if day is not None]
        yield Step(
            tank_id=plan.tank_id,
            purpose=plan.purpose,
            item_id=plan.item_id,
            plan_id=plan.pk,
            version=plan.version,
            from_on=max(line.from_on, plan.from_on),
            to_on=min(ends) if ends else None,
            weekdays=line.weekdays,
            amount_base=line.amount_base,
            means=line.by,
        )


def _touches(step: Step, first: date, last: date | None) -> bool:
    starts = last is None or step.from_on <= last
    return starts and (step.to_on is None or step.to_on > max(first, step.from_on))


def _holds(day: date) -> Q:
    return Q(from_on__lte=day) & (Q(to_on__isnull=True) | Q(to_on__gt=day))
