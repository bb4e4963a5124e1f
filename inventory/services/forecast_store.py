"""Projections and their parts, written in one transaction where nobody with later knowledge was
quicker."""

from __future__ import annotations

import zlib
from collections.abc import Collection, Mapping
from datetime import date, datetime
from typing import Any

import numpy as np
from django.db import transaction
from django.db.models import Q

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.day import business_day
from inventory.forecast.pooled import SCALARS, Part
from inventory.models import Forecast, ForecastPart
from inventory.queries.keys import parse_key
from inventory.services.forecast_rows import Made, Whole, row_of

FIGURES = (
    "made_at", "engine", "digest", "level_base", "level_sd_base", "measured_at",
    "plan_base_per_day", "quantiles_days", "plan_quantiles_days", "made_from", "finding",
    "earliest_on", "likely_on", "latest_on", "order_by_on", "too_old_on", "alarm", "because",
    "is_current",
)  # fmt: skip
TOLD = tuple(name for name in FIGURES if name not in {"made_at", "made_from", "is_current"})
CURVES = 3
FAST = 1
Rows = dict[tuple[int, int | None], Forecast]


def store_all(
    showroom: Showroom, made: list[Made], item_ids: Collection[int] | None, at: datetime
) -> tuple[int, int]:
    """Write projections of these items, or of all; how many rows are new and altered."""
    of_items = Q() if item_ids is None else Q(item_id__in=item_ids)
    rows = [row_of(showroom, one, at) for one in made]
    with transaction.atomic():
        current, of_today = _stored(showroom, of_items, showroom_day(showroom, at))
        rows = [row for row in rows if not _is_later(current.get(_key(row)), row)]
        fresh, altered = _apart(rows, of_today)
        kept = {row.pk for row in of_today.values() if _key(row) in {_key(new) for new in rows}}
        stale = [row.pk for row in current.values() if row.made_at <= at and row.pk not in kept]
        Forecast.objects.filter(pk__in=stale).update(is_current=False)
        Forecast.objects.bulk_create(fresh, ignore_conflicts=True, batch_size=100)
        if altered:
            Forecast.objects.bulk_update(altered, FIGURES, batch_size=50)
        _store_parts(showroom, made, of_items, at)
        if fresh or altered or stale:
            look_again(showroom, at)
    return len(fresh), len(altered)


def store_one(stored: Forecast | None, row: Forecast) -> bool:
    """Write one projection in place of the stored one of the same day; False when it says the
    same. Call it in a transaction."""
    if stored is None:
        row.save()
        return True
    row.pk = stored.pk
    if stored.is_current and figures(stored) == figures(row):
        return False
    row.save()
    return True


def look_again(showroom: Showroom, at: datetime) -> None:
    """What rests on projections must be looked at again."""
    want_work(showroom, "reorder", at=at)
    want_work(showroom, "watch", at=at)


def showroom_day(showroom: Showroom, at: datetime) -> date:
    """The business day of a moment."""
    return business_day(at, showroom.tz, showroom.cut_off_hour)


def figures(row: Forecast) -> dict[str, Any]:
    """What a row says."""
    return {name: getattr(row, name) for name in TOLD}


# --- parts --------------------------------------------------------------------------------------
def part_row(
    showroom: Showroom, item_id: int, container_id: int | None, part: Part, at: datetime, on: date
) -> ForecastPart:
    """A part as a row; it is not stored yet."""
    return ForecastPart(
        showroom=showroom,
        item_id=item_id,
        container_id=container_id,
        as_of_on=on,
        made_at=at,
        curves=zlib.compress(np.ascontiguousarray(part.curves).tobytes(), FAST),
        numbers={
            "numbers": dict(part.numbers),
            "tally": dict(part.tally),
            "changes": dict(part.changes),
            "measured_on": part.measured_on.isoformat() if part.measured_on else None,
        },
    )


def part_of_row(row: ForecastPart) -> Part:
    """The part of a row."""
    told: Mapping[str, Any] = row.numbers
    curves = np.frombuffer(zlib.decompress(bytes(row.curves)), dtype=np.float64)
    on = told["measured_on"]
    return Part(
        curves=curves.reshape(CURVES, -1).copy(),
        numbers={name: float(told["numbers"][name]) for name in SCALARS},
        tally={name: int(n) for name, n in told["tally"].items()},
        changes=told["changes"],
        measured_on=date.fromisoformat(on) if on else None,
    )


def sum_row(showroom: Showroom, item_id: int, whole: Whole, at: datetime) -> ForecastPart:
    """The sum over the places of an item as a row; it is not stored yet."""
    row = part_row(showroom, item_id, None, whole.total, at, whole.beside.as_of)
    row.numbers |= {
        "places": whole.places,
        "digests": whole.digests,
        "kept": dict(whole.kept),
        "reserve": whole.beside.reserve,
        "reserve_sd": whole.beside.reserve_sd,
    }
    return row


def _store_parts(showroom: Showroom, made: list[Made], of_items: Q, at: datetime) -> None:
    rows = []
    for one in made:
        if one.whole is None:
            continue
        item_id, on = one.subject.item.pk, one.whole.beside.as_of
        rows.append(sum_row(showroom, item_id, one.whole, at))
        for key, part in one.whole.parts.items():
            named = parse_key(key)
            if named is not None:
                rows.append(part_row(showroom, item_id, named[1], part, at, on))
    later = ForecastPart.objects.of(showroom).filter(of_items, made_at__gt=at)
    if later.exists():
        return
    ForecastPart.objects.of(showroom).filter(of_items).delete()
    ForecastPart.objects.bulk_create(rows, batch_size=100)


# --- rows ---------------------------------------------------------------------------------------
def _key(row: Forecast) -> tuple[int, int | None]:
    return row.item_id, row.container_id


def _stored(showroom: Showroom, of_items: Q, today: date) -> tuple[Rows, Rows]:
    """The rows in force, and the rows of today, both locked."""
    rows = (
        Forecast.objects.select_for_update()
        .of(showroom)
        .filter(of_items, Q(is_current=True) | Q(as_of_on=today))
        .defer("made_from")
        .order_by("pk")
    )
    current: Rows = {}
    of_today: Rows = {}
    for row in rows:
        if row.is_current:
            current[_key(row)] = row
        if row.as_of_on == today:
            of_today[_key(row)] = row
    return current, of_today


def _is_later(stored: Forecast | None, row: Forecast) -> bool:
    """Was the stored one made from later knowledge?"""
    return stored is not None and (stored.as_of_on, stored.made_at) > (row.as_of_on, row.made_at)


def _apart(rows: list[Forecast], of_today: Rows) -> tuple[list[Forecast], list[Forecast]]:
    """New rows, and rows of today brought up to date; those that say the same in neither."""
    fresh: list[Forecast] = []
    altered: list[Forecast] = []
    for row in rows:
        stored = of_today.get(_key(row))
        if stored is None:
            fresh.append(row)
        elif not stored.is_current or figures(stored) != figures(row):
            row.pk = stored.pk
            altered.append(row)
    return fresh, altered
