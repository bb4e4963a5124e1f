"""The dose of a start-up follows its steps: what was accepted today, what is to come ahead.

The plan of the tank holds the whole ramp, so that forecasts know it; but a step that nobody has
accepted never begins by itself. Its first day is kept at least three days ahead, so that the plan
stands still when nobody accepts and also when no worker runs for a day.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Prefetch

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import may
from gallery_ops.kernel.values.quantity import quantity
from inventory.models import SupplyPurpose, UsePlan, UsePlanLine
from inventory.services.plans import PlanLine, says_already, set_plan
from inventory.services.said import local_day
from tanks.models import Layout, StartUpStep
from tanks.queries.start_up import as_steps, layouts_starting, steps_by_layout, steps_of
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
    today = local_day(layout.showroom, at)
    return [
        set_plan(
            tank=layout.tank,
            item=plan.item,
            purpose=SupplyPurpose.DOSE,
            lines=lines,
            from_on=max(today, plan.from_on),
            by=by,
            at=at,
            reason=BY_STEPS,
        )
        for plan, lines in _wanted(
            steps_of(layout), layout.flooded_on, _versions(layout.showroom, [layout]), today
        )
    ]


def hold_ramps(*, showroom: Showroom, at: datetime) -> int:
    """Keep every step that nobody has accepted ahead of today; gives how many plans were changed.

    Written in the name of whoever accepted the step before it, or of the owner. Five queries,
    however many tanks start, and those of writing for each ramp that has to move.
    """
    layouts = layouts_starting(showroom)
    steps = steps_by_layout(layouts)
    versions: dict[int, list[UsePlan]] = defaultdict(list)
    for plan in _versions(showroom, layouts):
        versions[plan.tank_id].append(plan)
    people = list(Membership.objects.of(showroom).select_related("person", "showroom"))
    today = local_day(showroom, at)
    moved = 0
    for layout in layouts:
        rows = steps.get(layout.pk, [])
        by = _whoever_accepted(rows, people, showroom, at)
        if by is None or layout.flooded_on is None:
            continue
        mine = versions[layout.tank_id]
        wanted = _wanted(rows, layout.flooded_on, mine, today)
        if all(_holds_already(mine, plan, lines, today) for plan, lines in wanted):
            continue
        before = {plan.pk for plan in mine if plan.voided_at is None and plan.to_on is None}
        made = {plan.pk for plan in lay_ramp(layout=layout, by=by, at=at)}
        moved += len(made - before)
    return moved


def _versions(showroom: Showroom, layouts: Collection[Layout]) -> list[UsePlan]:
    """Every version of a dose plan that these tanks ever had, with its lines; two queries."""
    rows = UsePlan.objects.of(showroom).filter(
        tank_id__in=[layout.tank_id for layout in layouts], purpose=SupplyPurpose.DOSE
    )
    return list(
        rows.select_related("item")
        .prefetch_related(Prefetch("lines", UsePlanLine.objects.order_by("from_on", "pk")))
        .order_by("item_id", "-from_on", "-version")
    )


def _wanted(
    rows: list[StartUpStep], flooded_on: date, versions: list[UsePlan], today: date
) -> list[tuple[UsePlan, list[PlanLine]]]:
    """Each dose plan of a tank that holds today or later, and what its lines should be."""
    newest: dict[int, UsePlan] = {}
    for row in versions:
        if row.voided_at is None and (row.to_on is None or row.to_on > today):
            newest.setdefault(row.item_id, row)
    found = []
    for plan in newest.values():
        lines = list(plan.lines.all())
        pattern = lines[-1].weekdays if lines else "1111111"
        means = lines[-1].by if lines else "hand"
        full = _full_base(plan, versions)
        found.append(
            (
                plan,
                [
                    PlanLine(
                        amount=quantity(plan.item.dimension, amount),
                        weekdays=pattern,
                        from_on=begins,
                        to_on=ends,
                        means=means,
                    )
                    for begins, ends, amount in _ramp(rows, flooded_on, today, full)
                ],
            )
        )
    return found


def _full_base(plan: UsePlan, versions: list[UsePlan]) -> int:
    by_hand = [
        row for row in versions if row.item_id == plan.item_id and row.reason != BY_STEPS
    ] or [plan]
    last = max(by_hand, key=lambda row: row.version)
    return max((line.amount_base for line in last.lines.all()), default=0)


def _holds_already(
    versions: list[UsePlan], plan: UsePlan, lines: list[PlanLine], today: date
) -> bool:
    """Is this the newest version of its item, and does it say these lines?"""
    first = next(row for row in versions if row.item_id == plan.item_id and row.voided_at is None)
    return first.pk == plan.pk and says_already(plan, lines, max(today, plan.from_on))


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


def _whoever_accepted(
    rows: list[StartUpStep], people: list[Membership], showroom: Showroom, at: datetime
) -> Membership | None:
    """Who accepted the last step, or the owner when that person may change plans no more."""
    row = next((row for row in reversed(rows) if row.accepted_by_id), None)
    if row is None:
        return None
    mine = [one for one in people if one.person_id == row.accepted_by_id]
    owners = [one for one in people if one.role == "owner"]
    return next(
        (one for one in [*mine, *owners] if may(one, "plan.change", in_=showroom, at=at)), None
    )
