"""How long was each layout on show, and what did its build come to? Constant queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from tanks.models import Layout, MaterialLine, MaterialPart, StageChange
from tanks.queries.needs import Cost, cost_of, needs_of
from tanks.science.show_cost import show_days


@dataclass(frozen=True, slots=True)
class Build:
    """The sums of a build; ``hour_cents``: what an hour of work costs by its list, None unsaid."""

    cost: Cost
    hour_cents: int | None


def days_on_show(showroom: Showroom, layouts: Iterable[Layout], at: datetime) -> dict[int, int]:
    """Layout -> days on show so far; one query."""
    mine = {row.pk: row for row in layouts}
    stages: dict[int, list[tuple[date, str]]] = defaultdict(list)
    rows = (
        StageChange.objects.of(showroom)
        .standing()
        .filter(layout_id__in=list(mine), done_at_corrected__lte=at)
        .order_by("done_at_corrected", "pk")
        .values_list("layout_id", "done_at_corrected", "stage_to")
    )
    for key, moment, stage in rows:
        on = business_day(moment, showroom.tz, showroom.cut_off_hour)
        stages[key].append((on, stage))
    found = {}
    for key, row in mine.items():
        until = business_day(row.to_at or at, showroom.tz, showroom.cut_off_hour)
        found[key] = show_days(stages[key], until) if stages[key] else 0
    return found


def builds_of(showroom: Showroom, layouts: Iterable[Layout]) -> dict[int, Build]:
    """Layout -> the sums of its list of materials; those without a list are left out. One query."""
    mine = {row.pk: row for row in layouts}
    lines: dict[int, list[MaterialLine]] = defaultdict(list)
    for line in (
        MaterialLine.objects.of(showroom)
        .filter(layout_id__in=list(mine), voided_at=None)
        .select_related("species")
        .order_by("layout_id", "order")
    ):
        lines[line.layout_id].append(line)
    found = {}
    for key, of_layout in lines.items():
        hours = [
            line.unit_cents
            for line in of_layout
            if line.part in (MaterialPart.WORK, MaterialPart.CARE) and line.unit_cents is not None
        ]
        cost = cost_of(needs_of(mine[key].tank, of_layout))
        found[key] = Build(cost, hours[0] if hours else None)
    return found
