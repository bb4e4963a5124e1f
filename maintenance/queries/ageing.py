"""What is on record of how a layout grows old, for one layout or for all of a showroom?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from datetime import date, datetime

from gallery_ops.kernel.models import Showroom
from maintenance.models import Completion
from tanks.models import Layout, Stage
from tanks.queries.gates import age_words
from tanks.science.decline import Ageing

TRIM = "trim_stems"
SHOWN = frozenset({Stage.GROW_IN, Stage.SHOW, Stage.RECOVERY, Stage.DECLINE})
"""Stages in which a layout is looked at for signs of age."""
DAYS_A_MONTH = 30.44


def is_shown(layout: Layout) -> bool:
    """Is it at a stage in which it can grow old?"""
    return layout.stage in SHOWN


def ageing_of(showroom: Showroom, layouts: Collection[Layout], on: date) -> dict[int, Ageing]:
    """Layout -> what is on record of its age on a business day; two queries, however many."""
    words = age_words(showroom, [layout.pk for layout in layouts])
    trims = _trims(showroom, layouts)
    found = {}
    for layout in layouts:
        said = words.get(layout.pk)
        flooded = layout.flooded_on
        found[layout.pk] = Ageing(
            trims_at=[at for at in trims[layout.tank_id] if at >= layout.from_at],
            algae=said.weekly.get("algae", []) if said else [],
            appeal=said.weekly.get("appeal", []) if said else [],
            bare_stems_percent=said.number.get("bare_stems") if said else None,
            black_patches=said.was_so.get("black_patches") if said else None,
            age_months=(on - flooded).days / DAYS_A_MONTH if flooded else None,
        )
    return found


def _trims(showroom: Showroom, layouts: Collection[Layout]) -> dict[int, list[datetime]]:
    """Tank -> when its stems were cut, oldest first."""
    found: dict[int, list[datetime]] = defaultdict(list)
    rows = (
        Completion.objects.of(showroom)
        .standing()
        .filter(
            due_task__tank_id__in=[layout.tank_id for layout in layouts],
            due_task__template__key=TRIM,
        )
        .order_by("done_at_corrected", "pk")
        .values_list("due_task__tank_id", "done_at_corrected")
    )
    for tank_id, moment in rows:
        found[tank_id].append(moment)
    return found
