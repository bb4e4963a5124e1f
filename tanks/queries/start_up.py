"""The steps of a layout's start-up, as written down and as sums read them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence

from gallery_ops.kernel.models import Showroom
from tanks.models import Layout, StartUpStep
from tanks.science.start_up import Step


def steps_of(layout: Layout) -> list[StartUpStep]:
    """The layout's own steps, in order; none before somebody copied them."""
    return list(
        StartUpStep.objects.filter(layout=layout).select_related("accepted_by").order_by("order")
    )


def steps_by_layout(layouts: Collection[Layout]) -> dict[int, list[StartUpStep]]:
    """Layout -> its own steps, in order; one query, however many."""
    found: dict[int, list[StartUpStep]] = defaultdict(list)
    for row in (
        StartUpStep.objects.filter(layout_id__in=[layout.pk for layout in layouts])
        .select_related("accepted_by")
        .order_by("order")
    ):
        found[row.layout_id].append(row)
    return found


def as_steps(rows: Sequence[StartUpStep]) -> tuple[Step, ...]:
    """The same as plain values."""
    return tuple(
        Step(
            order=row.order,
            from_day=row.from_day,
            to_day=row.to_day,
            change_percent=row.change_percent,
            changes_per_week=row.changes_per_week,
            dose_permille=row.dose_permille,
            light_minutes=row.light_minutes,
            tests_on_days=tuple(row.tests_on_days),
            watch=row.watch,
        )
        for row in rows
    )


def layouts_starting(showroom: Showroom) -> list[Layout]:
    """Layouts that stand, were flooded and have steps that nobody has taken yet."""
    return list(
        Layout.objects.of(showroom)
        .filter(
            voided_at=None,
            flooded_on__isnull=False,
            start_up_steps__accepted_at__isnull=True,
            start_up_steps__isnull=False,
        )
        .still()
        .select_related("tank__showroom")
        .distinct()
    )
