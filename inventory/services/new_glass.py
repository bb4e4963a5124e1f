"""What is given to a tank goes on when its glass is replaced: plans, bottles, feeder, animals."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction

from django.db import transaction

from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.copying import copied
from gallery_ops.kernel.values.quantity import quantity
from inventory.models import FeederCalibration, Supply, UsePlan
from inventory.queries.livestock import heads
from inventory.services.leaving import move_heads
from inventory.services.plans import PlanLine, set_plan, stop_plans
from inventory.services.said import local_day, same_house
from inventory.services.supplies import connect_supply, end_supplies
from tanks.models import Tank


@transaction.atomic
def goes_on(*, old: Tank, new: Tank, by: Membership, at: datetime, reason: str) -> None:
    """The new glass gets what the old one got, from the same containers; its animals move in.

    No amount changes. Versions of a plan begin at 1 in the new glass, on the business day of ``at``
    or later where the old one had not begun. What was given until now stays with the old glass.
    """
    require(by, "plan.change", in_=old.showroom)
    same_house(old.showroom, tank=new)
    _plans(old, new, by, at, reason)
    for supply in end_supplies(tank=old, by=by, at=at):
        copied(supply, tank=new, from_at=at, to_at=None)
    _feeder(old, new, at)
    counts = {head.batch_id: head.count for head in heads(old.showroom, at, tank_ids=[old.pk])}
    move_heads(tank_from=old, tank_to=new, counts=counts, by=by, at=at, note=reason)


def scaled_base(amount_base: int, ratio: Fraction) -> int:
    """An amount times ``ratio`` in base units, from a thousand on to the nearest hundred.

    Nobody measures out a thousandth of a millilitre (common practice, no source).

    >>> scaled_base(2000, Fraction(10, 7)), scaled_base(300, Fraction(1, 7))
    (2900, 43)
    """
    exact = amount_base * ratio
    return round(exact / 100) * 100 if exact >= 1000 else round(exact)


@transaction.atomic
def scale_plan(
    *, plan: UsePlan, ratio: Fraction, by: Membership, at: datetime, reason: str
) -> UsePlan:
    """The same plan from today on with every amount times ``ratio``, as its next version."""
    return _set(plan, plan.tank, ratio, by, at, reason)


@transaction.atomic
def plan_for_part(
    *, plan: UsePlan, part: Tank, ratio: Fraction, by: Membership, at: datetime, reason: str
) -> UsePlan:
    """A part of a tank gets the same as the tank, every amount times ``ratio``, from today on.

    What feeds the tank by a supply of its own feeds the part as well.
    """
    made = _set(plan, part, ratio, by, at, reason)
    own = Supply.objects.filter(tank=plan.tank, item=plan.item, purpose=plan.purpose).still()
    for supply in own.select_related("container__item", "container__showroom"):
        connect_supply(container=supply.container, purpose=plan.purpose, tank=part, by=by, at=at)
    return made


def _set(
    plan: UsePlan, tank: Tank, ratio: Fraction, by: Membership, at: datetime, reason: str
) -> UsePlan:
    from_on = max(plan.from_on, local_day(plan.showroom, at))
    lines = [
        PlanLine(
            quantity(plan.item.dimension, scaled_base(line.amount_base, ratio)),
            line.weekdays,
            line.from_on,
            line.to_on,
            line.by,
        )
        for line in plan.lines.order_by("from_on", "pk")
        if line.to_on is None or line.to_on > from_on
    ]
    return set_plan(
        tank=tank,
        item=plan.item,
        purpose=plan.purpose,
        lines=lines,
        from_on=from_on,
        by=by,
        at=at,
        reason=reason[:200],
    )


def _plans(old: Tank, new: Tank, by: Membership, at: datetime, reason: str) -> None:
    today = local_day(old.showroom, at)
    rows = UsePlan.objects.filter(tank=old, voided_at=None).exclude(to_on__lte=today)
    standing = list(rows.order_by("item_id", "purpose", "version").prefetch_related("lines"))
    stop_plans(tank=old, on=today, by=by, at=at, reason=reason)
    numbers: dict[tuple[int, str], int] = {}
    for plan in standing:
        key = (plan.item_id, plan.purpose)
        numbers[key] = numbers.get(key, 0) + 1
        from_on = max(plan.from_on, today)
        copy = copied(
            plan,
            tank=new,
            version=numbers[key],
            from_on=from_on,
            made_by=by.person,
            made_at=at,
            reason=reason[:200],
        )
        for line in plan.lines.all():
            if line.to_on is None or line.to_on > from_on:
                copied(line, plan=copy, from_on=max(line.from_on, from_on))


def _feeder(old: Tank, new: Tank, at: datetime) -> None:
    """The last weighing of each food, with who weighed and when: the same feeder hangs there."""
    rows = FeederCalibration.objects.standing().filter(tank=old)
    last = {row.item_id: row for row in rows.order_by("done_at_corrected", "pk")}
    for row in last.values():
        copied(row, tank=new, entered_at=at, action_id=None, corrects=None)
