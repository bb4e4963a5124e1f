"""The part of an import that lies in the glass: its layout, and the plans of what it is given."""

from __future__ import annotations

from datetime import date
from typing import Any

from gallery_ops.fleet_file.bringing import Bringing, before_after, designer_of, item_of
from gallery_ops.fleet_file.plan import EMPTY_STAGES, RowPlan, title_of
from gallery_ops.fleet_file.words import PURPOSES
from gallery_ops.kernel.values.quantity import quantity
from inventory.models import Item, UsePlan
from inventory.queries.plans import plan_on
from inventory.services import plans as plan_services
from inventory.services.plans import PlanLine
from tanks.models import Layout, Stage, Style, Tank
from tanks.services import layouts, stages

_OF_LAYOUT = ("title", "style", "has_co2", "flooded_on")
_MEANS = {"dose": "hand", "gas": "valve", "food": "hand"}


def begin_layout(bringing: Bringing, plan: RowPlan, tank: Tank) -> None:
    row = plan.row
    has_co2 = row.has_co2 if row.has_co2 is not None else row.style != Style.NO_CO2
    layout = layouts.begin_layout(
        tank=tank,
        title=title_of(row),
        stage=row.stage or Stage.SHOW,
        designer=designer_of(bringing, row.designer),
        style=row.style or (Style.STEM if has_co2 else Style.NO_CO2),
        has_co2=has_co2,
        flooded_on=row.flooded_on,
        by=bringing.by,
        at=bringing.at,
    )
    bringing.note("layout", {"id": layout.pk, "tank": tank.pk})


def change_layout(bringing: Bringing, plan: RowPlan, layout: Layout, changed: set[str]) -> None:
    row = plan.row
    values: dict[str, Any] = {
        name: getattr(row, name)
        for name in ("title", "style", "has_co2", "flooded_on")
        if name in changed
    }
    if "designer" in changed:
        values["designer"] = designer_of(bringing, row.designer)
    if values:
        bringing.note("layout_changed", before_after(layout, values))
        layouts.change_layout(layout=layout, by=bringing.by, at=bringing.at, **values)
    if "stage" in changed and row.stage not in EMPTY_STAGES:
        bringing.note(
            "stage_changed", {"id": layout.pk, "before": layout.stage, "after": row.stage}
        )
        stages.advance_stage(
            layout=layout,
            to=row.stage or "",
            by=bringing.by,
            at=bringing.at,
            override_reason=bringing.reason,
        )


def set_plans(bringing: Bringing, plan: RowPlan, tank: Tank, purposes: list[str]) -> None:
    """Open a plan, or the next version of one, for each amount that the row says."""
    for purpose in purposes:
        amount = getattr(plan.row, PURPOSES[purpose])
        before = bringing.now.planned_base(plan.tank, purpose) if plan.tank else None
        if amount is None or (amount == 0 and before is None):
            continue
        item = item_of(bringing, plan, purpose)
        standing_plan = plan_on(bringing.showroom, tank, item, purpose, bringing.now.on)
        made = plan_services.set_plan(
            tank=tank,
            item=item,
            purpose=purpose,
            lines=[PlanLine(quantity(item.dimension, amount), means=_MEANS[purpose])],
            from_on=bringing.now.on,
            by=bringing.by,
            at=bringing.at,
            reason=bringing.reason[:200],
        )
        lines = _lines_of(standing_plan) if standing_plan is not None else []
        bringing.note("plan", {"id": made.pk, "tank": tank.pk, "before": lines})


def _lines_of(plan: UsePlan) -> list[list[Any]]:
    """The steps of a version as plain values, for the day when they are wanted back."""
    return [
        [
            line.amount_base,
            line.weekdays,
            line.from_on.isoformat(),
            line.to_on.isoformat() if line.to_on else None,
            line.by,
        ]
        for line in plan.lines.all()
    ]


def restored_lines(item: Item, lines: list[list[Any]]) -> list[PlanLine]:
    """The steps that :func:`_lines_of` wrote down."""
    return [
        PlanLine(
            amount=quantity(item.dimension, amount),
            weekdays=weekdays,
            from_on=date.fromisoformat(from_on),
            to_on=date.fromisoformat(to_on) if to_on else None,
            means=means,
        )
        for amount, weekdays, from_on, to_on, means in lines
    ]
