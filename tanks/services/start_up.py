"""The start-up of one layout: its own steps, copied to be edited, and accepted one by one."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from tanks.models import Layout, StartUpStep
from tanks.queries.start_up import steps_of
from tanks.science.start_up import regime

MOST_DAYS = 366


@transaction.atomic
def copy_regime(
    *, layout: Layout, by: Membership, at: datetime, is_inert: bool = False
) -> list[StartUpStep]:
    """The usual steps become this layout's own; they can be changed then.

    Raises
    ------
    Refused
        where it has steps already.
    """
    require(by, "plan.change", in_=layout.showroom)
    Layout.objects.select_for_update().get(pk=layout.pk)
    if StartUpStep.objects.filter(layout=layout).exists():
        raise Refused("has_steps", "This layout has its steps already: change them instead.")
    for step in regime(is_inert=is_inert):
        StartUpStep.objects.create(
            showroom=layout.showroom,
            layout=layout,
            order=step.order,
            from_day=step.from_day,
            to_day=step.to_day,
            change_percent=step.change_percent,
            changes_per_week=step.changes_per_week,
            dose_permille=step.dose_permille,
            light_minutes=step.light_minutes,
            tests_on_days=list(step.tests_on_days),
            watch=step.watch,
        )
    audit.record(by=by, at=at, deed="start_up.copied", subject=layout)
    return list(StartUpStep.objects.filter(layout=layout))


@transaction.atomic
def mark_accepted(
    *, layout: Layout, order: int, by: Membership, at: datetime, reason: str = ""
) -> StartUpStep:
    """A person takes the next step; ``reason`` is theirs where something speaks against it.

    Raises
    ------
    Unknown
        a step that this layout has not.
    Refused
        a step out of turn, or one that was taken already.
    """
    require(by, "plan.change", in_=layout.showroom)
    rows = list(StartUpStep.objects.select_for_update().filter(layout=layout).order_by("order"))
    step = next((row for row in rows if row.order == order), None)
    if step is None:
        raise Unknown("step")
    following = next((row for row in rows if row.accepted_at is None), None)
    if following is None or step.pk != following.pk:
        raise Refused(
            "out_of_turn",
            f"Step {order} is not the next one.",
            {"order": f"Allowed: {following.order}." if following else "Every step is taken."},
        )
    step.accepted_at, step.accepted_by = at, by.person
    step.save(update_fields=["accepted_at", "accepted_by"])
    audit.record(
        by=by, at=at, deed="start_up.accepted", subject=layout, after={"step": order}, reason=reason
    )
    return step


@transaction.atomic
def change_step(
    *,
    layout: Layout,
    order: int,
    by: Membership,
    at: datetime,
    from_day: int,
    change_percent: int,
    changes_per_week: float,
    dose_permille: int,
    light_minutes: int,
    watch: str = "",
) -> StartUpStep:
    """Another day, change, dose or light for a step that nobody has taken yet.

    Raises
    ------
    Unknown
        a step that this layout has not.
    Refused
        a step that was taken, a day before the step before, a figure outside its range.
    """
    require(by, "plan.change", in_=layout.showroom)
    rows = list(StartUpStep.objects.select_for_update().filter(layout=layout).order_by("order"))
    step = next((row for row in rows if row.order == order), None)
    if step is None:
        raise Unknown("step")
    if step.accepted_at is not None:
        raise Refused("step_taken", f"Step {order} was taken already: change the next one.")
    before = [row for row in rows if row.order < order]
    after = [row for row in rows if row.order > order]
    first = before[-1].from_day + 1 if before else 0
    last = after[0].from_day - 1 if after else MOST_DAYS
    bounds = {
        "from_day": (from_day, first, last, "day"),
        "change_percent": (change_percent, 0, 100, "%"),
        "changes_per_week": (changes_per_week, 0, 14, "a week"),
        "dose_permille": (dose_permille, 0, 2000, "‰ of the full dose"),
        "light_minutes": (light_minutes, 0, 1440, "minutes a day"),
    }
    wrong = {
        name: f"Allowed: {low:g} to {high:g} {unit}."
        for name, (value, low, high, unit) in bounds.items()
        if not low <= value <= high
    }
    if wrong:
        raise Refused("step_out_of_range", f"Step {order} cannot be so.", wrong)
    step.from_day, step.change_percent, step.changes_per_week = (
        from_day,
        change_percent,
        changes_per_week,
    )
    step.dose_permille, step.light_minutes = dose_permille, light_minutes
    step.watch = watch.strip()[:200]
    step.save()
    if before:
        before[-1].to_day = from_day - 1
        before[-1].save(update_fields=["to_day"])
    audit.record(
        by=by,
        at=at,
        deed="start_up.changed",
        subject=layout,
        after={"step": order, "from_day": from_day, "dose_permille": dose_permille},
    )
    return step


def taken(layout: Layout) -> int:
    """Order of the last step that somebody took; 0 for none."""
    return max((row.order for row in steps_of(layout) if row.accepted_at is not None), default=0)
