"""The dose of a start-up follows its steps: what was accepted today, what is to come ahead.

The plan of the tank holds the whole ramp, so that forecasts know it; but a step that nobody has
accepted never begins by itself. Its first day is kept at least three days ahead, so that the plan
stands still when nobody accepts and also when no worker runs for a day.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import may
from gallery_ops.kernel.values.quantity import quantity
from inventory.models import SupplyPurpose, UsePlan
from inventory.services.plans import PlanLine, set_plan
from inventory.services.said import local_day
from tanks.models import Layout, StartUpStep
from tanks.queries.start_up import as_steps, layouts_starting, steps_of
from tanks.science.start_up import Step
from tanks.services.start_up import mark_accepted

AHEAD = timedelta(days=3)
FULL = 1000
BY_STEPS = "start-up"
"""Reason of the versions that are made here; the last other one holds the full dose."""


@transaction.atomic
def accept_step(
    *, layout: Layout, order: int, by: Membership, at: datetime, reason: str = ""
) -> StartUpStep:
    """Take the next step: its dose holds from today on, and the ramp ahead is laid anew."""
    step = mark_accepted(layout=layout, order=order, by=by, at=at, reason=reason)
    lay_ramp(layout=layout, by=by, at=at)
    return step


@transaction.atomic
def lay_ramp(*, layout: Layout, by: Membership, at: datetime) -> list[UsePlan]:
    """Put the ramp into each dose plan of the tank; gives the versions in force then.

    The full dose is the largest amount of the last version that a person set: what was laid here
    is a share of it, and a share of a share would grow or shrink with each laying.

    Raises
    ------
    Refused
        ``not_flooded``: its days have no beginning.
    """
    if layout.flooded_on is None:
        raise Refused("not_flooded", "It has not been flooded: its steps have no first day.")
    rows = steps_of(layout)
    today = local_day(layout.showroom, at)
    made = []
    for plan in _dose_plans(layout, today):
        lines = list(plan.lines.order_by("from_on", "pk"))
        full = _full_base(plan)
        pattern = lines[-1].weekdays if lines else "1111111"
        means = lines[-1].by if lines else "hand"
        wanted = [
            PlanLine(
                amount=quantity(plan.item.dimension, amount),
                weekdays=pattern,
                from_on=begins,
                to_on=ends,
                means=means,
            )
            for begins, ends, amount in _ramp(rows, layout.flooded_on, today, full)
        ]
        made.append(
            set_plan(
                tank=layout.tank,
                item=plan.item,
                purpose=SupplyPurpose.DOSE,
                lines=wanted,
                from_on=max(today, plan.from_on),
                by=by,
                at=at,
                reason=BY_STEPS,
            )
        )
    return made


def hold_ramps(*, showroom: Showroom, at: datetime) -> int:
    """Keep every step that nobody has accepted ahead of today; gives how many plans were changed.

    Written in the name of whoever accepted the step before it, or of the owner.
    """
    moved = 0
    for layout in layouts_starting(showroom):
        by = _whoever_accepted(layout, at)
        if by is None:
            continue
        before = set(_open_plan_ids(layout))
        lay_ramp(layout=layout, by=by, at=at)
        moved += len(set(_open_plan_ids(layout)) - before)
    return moved


def _dose_plans(layout: Layout, today: date) -> list[UsePlan]:
    rows = (
        UsePlan.objects.filter(tank=layout.tank, purpose=SupplyPurpose.DOSE, voided_at=None)
        .select_related("item")
        .order_by("item_id", "-from_on", "-version")
    )
    newest: dict[int, UsePlan] = {}
    for row in rows:
        if row.to_on is None or row.to_on > today:
            newest.setdefault(row.item_id, row)
    return list(newest.values())


def _full_base(plan: UsePlan) -> int:
    versions = UsePlan.objects.filter(tank=plan.tank, item=plan.item, purpose=plan.purpose)
    by_hand = versions.exclude(reason=BY_STEPS).order_by("-version").first() or plan
    return max(by_hand.lines.values_list("amount_base", flat=True), default=0)


def _open_plan_ids(layout: Layout) -> list[int]:
    return list(
        UsePlan.objects.filter(
            tank=layout.tank, purpose=SupplyPurpose.DOSE, voided_at=None, to_on=None
        ).values_list("pk", flat=True)
    )


def _ramp(
    rows: list[StartUpStep], flooded_on: date, today: date, full_base: int
) -> list[tuple[date, date | None, int]]:
    """From day, day no longer, amount: the accepted step now, those to come as they may begin."""
    steps = as_steps(rows)
    accepted = max((row.order for row in rows if row.accepted_at is not None), default=0)
    now = next((step for step in reversed(steps) if step.order == accepted), None)
    ahead = [step for step in steps if step.order > accepted]
    late = _late(ahead, flooded_on, today)
    begins = [flooded_on + timedelta(days=step.from_day) + late for step in ahead]
    parts: list[tuple[date, date | None, int]] = [
        (today, begins[0] if begins else None, _share(now, full_base))
    ]
    for at, step in enumerate(ahead):
        until = begins[at + 1] if at + 1 < len(begins) else None
        parts.append((begins[at], until, _share(step, full_base)))
    return parts


def _late(ahead: list[Step], flooded_on: date, today: date) -> timedelta:
    """By how much the steps to come are put off: none of them begins before three days are over."""
    if not ahead:
        return timedelta(0)
    first = flooded_on + timedelta(days=ahead[0].from_day)
    return max(timedelta(0), today + AHEAD - first)


def _share(step: Step | None, full_base: int) -> int:
    permille = step.dose_permille if step else 0
    return (full_base * permille + FULL // 2) // FULL


def _whoever_accepted(layout: Layout, at: datetime) -> Membership | None:
    """Who accepted the last step, or the owner when that person may change plans no more."""
    row = next((row for row in reversed(steps_of(layout)) if row.accepted_by_id), None)
    if row is None:
        return None
    rows = Membership.objects.filter(showroom=layout.showroom)
    people = [*rows.filter(person=row.accepted_by), *rows.filter(role="owner")]
    return next(
        (one for one in people if may(one, "plan.change", in_=layout.showroom, at=at)), None
    )
