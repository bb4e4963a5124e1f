"""What became otherwise in the tanks between two moments? The fleet at once, constant queries."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import F, Q

from gallery_ops.kernel.models import Showroom
from tanks.models import (
    Layout,
    LayoutVersion,
    Parameter,
    Placement,
    PlantGroup,
    Reading,
    StageChange,
)
from tanks.science.drift import Drift, Read, State, judge

LOOK_BACK = timedelta(days=60)
"""So far back the habit of a tank's water is looked for."""
SECONDS_PER_DAY = 86_400


@dataclass(frozen=True, slots=True)
class Away:
    """A reading outside its tank's own habit: the newest one of its parameter."""

    tank_id: int
    parameter: Parameter
    value: float
    at: datetime
    who: str
    drift: Drift


def layouts_between(showroom: Showroom, since: datetime, at: datetime) -> list[Layout]:
    """Layouts that began or ended."""
    within = Q(from_at__gt=since, from_at__lte=at) | Q(to_at__gt=since, to_at__lte=at)
    return list(Layout.objects.of(showroom).filter(within, voided_at=None).order_by("from_at"))


def stages_between(showroom: Showroom, since: datetime, at: datetime) -> list[StageChange]:
    """Passages from one stage to the next, with their layout."""
    rows = StageChange.objects.of(showroom).standing().select_related("layout", "person")
    return list(
        rows.filter(
            done_at_corrected__gt=since, done_at_corrected__lte=at, layout__voided_at=None
        ).order_by("done_at_corrected", "pk")
    )


def versions_between(showroom: Showroom, since: datetime, at: datetime) -> list[LayoutVersion]:
    """Versions that a layout got after its first one."""
    rows = LayoutVersion.objects.of(showroom).select_related("layout").defer("frozen_label")
    begun = rows.filter(from_at__gt=since, from_at__lte=at, layout__voided_at=None)
    return list(begun.exclude(from_at=F("layout__from_at")).exclude(major=1, minor=0))


def groups_between(showroom: Showroom, since: datetime, at: datetime) -> list[PlantGroup]:
    """Plant groups that came into or went from a layout that stood before and after."""
    within = Q(from_at__gt=since, from_at__lte=at) | Q(to_at__gt=since, to_at__lte=at)
    rows = (
        PlantGroup.objects.of(showroom)
        .filter(within, layout__voided_at=None, layout__from_at__lte=since)
        .filter(Q(layout__to_at=None) | Q(layout__to_at__gt=at))
        .select_related("layout")
        .prefetch_related("species")
        .order_by("layout_id", "number", "from_at")
    )
    return list(rows)


def moves_between(showroom: Showroom, since: datetime, at: datetime) -> list[Placement]:
    """Glasses that were carried to another place; a first place is no move."""
    rows = list(
        Placement.objects.of(showroom)
        .filter(from_at__gt=since, from_at__lte=at, voided_at=None)
        .select_related("position__room")
        .order_by("from_at")
    )
    before = set(
        Placement.objects.of(showroom)
        .filter(from_at__lte=since, voided_at=None, tank_id__in=[row.tank_id for row in rows])
        .values_list("tank_id", flat=True)
    )
    return [row for row in rows if row.tank_id in before]


def readings_away(showroom: Showroom, since: datetime, at: datetime) -> list[Away]:
    """Newest readings of the time that lie outside the tank's own habit; three queries.

    Compared with the same layout, light phase, method and reagent lot only.
    """
    begun: dict[int, datetime] = dict(
        Layout.objects.of(showroom).filter(voided_at=None).at(at).values_list("tank_id", "from_at")
    )
    parameters = {row.pk: row for row in Parameter.objects.all()}
    rows = (
        Reading.objects.of(showroom)
        .standing()
        .filter(
            done_at_corrected__gt=at - LOOK_BACK, done_at_corrected__lte=at, value__isnull=False
        )
        .order_by("done_at_corrected", "pk")
        .values(
            "tank_id", "parameter_id", "done_at_corrected", "value", "qualifier",
            "light_phase", "method", "reagent_lot", "person__name",
        )
    )  # fmt: skip
    found: dict[tuple[int, int], list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        started = begun.get(row["tank_id"])
        if started is not None and row["done_at_corrected"] >= started:
            found[row["tank_id"], row["parameter_id"]].append(row)
    away = []
    for (tank_id, key), group in found.items():
        last = group[-1]
        if last["done_at_corrected"] <= since:
            continue
        drift = judge([_read(row) for row in group], step=parameters[key].step)
        if drift.state is State.AWAY:
            away.append(
                Away(
                    tank_id,
                    parameters[key],
                    last["value"],
                    last["done_at_corrected"],
                    last["person__name"],
                    drift,
                )
            )
    return away


def _read(row: dict[str, Any]) -> Read:
    return Read(
        day=row["done_at_corrected"].timestamp() / SECONDS_PER_DAY,
        value=row["value"],
        light_phase=row["light_phase"],
        method=row["method"],
        reagent_lot=row["reagent_lot"],
        at_limit=row["qualifier"] != "=",
    )
