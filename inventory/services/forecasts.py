"""Projections, made again from what is known now and stored so that making them twice is the same.

Reading and arithmetic happen outside any transaction; then the rows are written in one, and only
where no run with later knowledge was quicker.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import ceil
from typing import Any

from django.db import transaction
from django.db.models import Q

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.day import business_day
from inventory.forecast.because import amount
from inventory.forecast.engine import ENGINE, project
from inventory.forecast.types import HORIZON_DAYS, Projection
from inventory.models import Container, Forecast
from inventory.queries.forecast_cases import Subject, forecast_subjects, per_unit
from inventory.queries.keys import parse_key

FIGURES = (
    "made_at", "engine", "digest", "level_base", "level_sd_base", "measured_at",
    "plan_base_per_day", "quantiles_days", "earliest_on", "likely_on", "latest_on",
    "order_by_on", "too_old_on", "alarm", "because", "is_current",
)  # fmt: skip
EARLIEST, LIKELY, LATEST = 0.10, 0.50, 0.90
Rows = dict[tuple[int, int | None], Forecast]


@dataclass(frozen=True, slots=True)
class Refreshed:
    """What a run did: keys of subjects projected, and how many rows were new, altered, as
    before.
    """

    keys: tuple[str, ...]
    made: int
    altered: int
    unchanged: int


def refresh(*, showroom: Showroom, at: datetime, subject: str = "") -> Refreshed:
    """Project one stock and its item, or all stocks of a showroom, and store what follows.

    Parameters
    ----------
    subject : ``container:7`` or ``item:3``; empty for everything. A subject that is not there
        (finished, voided) projects nothing.

    Running it twice stores the same row; running it late or at once with another stores the newest
    knowledge. Wants ``reorder`` and ``watch`` when something changed.
    """
    item_ids = _items_of(showroom, subject)
    subjects = forecast_subjects(showroom, at, item_ids=item_ids)
    projected = project([one.stock for one in subjects])
    rows = [_row(showroom, one, found, at) for one, found in zip(subjects, projected, strict=True)]
    made, altered = _store(showroom, rows, item_ids, at)
    return Refreshed(tuple(s.key for s in subjects), made, altered, len(rows) - made - altered)


def digest_of(subject: Subject) -> str:
    """What a projection is made from, as one number: the case and the version of the arithmetic."""
    return hashlib.sha256(f"{ENGINE}\n{subject.stock!r}".encode()).hexdigest()


def _items_of(showroom: Showroom, subject: str) -> Collection[int] | None:
    """The items that a subject concerns; None for all."""
    if not subject:
        return None
    named = parse_key(subject)
    if named is None:
        return ()
    kind, pk = named
    if kind == "item":
        return (pk,)
    return tuple(Container.objects.of(showroom).filter(pk=pk).values_list("item_id", flat=True))


def _row(showroom: Showroom, subject: Subject, found: Projection, at: datetime) -> Forecast:
    _, base = per_unit(subject.item)
    order = found.order_by
    return Forecast(
        showroom=showroom,
        container=subject.container,
        item=subject.item,
        as_of_on=found.as_of,
        made_at=at,
        engine=ENGINE,
        digest=digest_of(subject),
        level_base=subject.level,
        level_sd_base=round(found.level_sd * base),
        measured_at=subject.measured_at,
        plan_base_per_day=round(subject.per_day),
        quantiles_days=[round(q, 4) for q in found.quantiles],
        earliest_on=_day(found, EARLIEST),
        likely_on=_day(found, LIKELY),
        latest_on=_day(found, LATEST),
        order_by_on=(
            None if order is None or order >= HORIZON_DAYS else found.as_of + timedelta(days=order)
        ),
        too_old_on=too_old_on(subject.container),
        alarm=found.alarm,
        because=_because(subject, found),
    )


def _because(subject: Subject, found: Projection) -> list[dict[str, Any]]:
    """The reasons; the level is that of the ledger, with what stays in the container."""
    unit, base = per_unit(subject.item)
    told = [dict(reason) for reason in found.because]
    told[0]["level"] = dict(amount(subject.level / base, unit))
    return told


def _day(found: Projection, level: float) -> date | None:
    """The day in which the stock is gone with this chance; None beyond the horizon."""
    days = found.quantile(level)
    return None if days >= HORIZON_DAYS else found.as_of + timedelta(days=ceil(days))


def too_old_on(container: Container | None) -> date | None:
    """First day on which an opened container is too old: opened life or printed date."""
    if container is None:
        return None
    days = []
    if container.opened_on and container.item.opened_life_days:
        days.append(container.opened_on + timedelta(days=container.item.opened_life_days))
    if container.lot.expires_on:
        days.append(container.lot.expires_on)
    return min(days, default=None)


def _key(row: Forecast) -> tuple[int, int | None]:
    return row.item_id, row.container_id


def _store(
    showroom: Showroom, rows: list[Forecast], item_ids: Collection[int] | None, at: datetime
) -> tuple[int, int]:
    of_items = Q() if item_ids is None else Q(item_id__in=item_ids)
    with transaction.atomic():
        current, of_today = _stored(showroom, of_items, showroom_day(showroom, at))
        rows = [row for row in rows if not _is_later(current.get(_key(row)), row)]
        fresh, altered = _apart(rows, of_today)
        kept = {row.pk for row in of_today.values() if _key(row) in {_key(new) for new in rows}}
        stale = [row.pk for row in current.values() if row.made_at <= at and row.pk not in kept]
        Forecast.objects.filter(pk__in=stale).update(is_current=False)
        Forecast.objects.bulk_create(fresh, ignore_conflicts=True)
        if altered:
            Forecast.objects.bulk_update(altered, FIGURES, batch_size=100)
        if fresh or altered or stale:
            want_work(showroom, "reorder", at=at)
            want_work(showroom, "watch", at=at)
    return len(fresh), len(altered)


def showroom_day(showroom: Showroom, at: datetime) -> date:
    """The business day of a moment."""
    return business_day(at, showroom.tz, showroom.cut_off_hour)


def _stored(showroom: Showroom, of_items: Q, today: date) -> tuple[Rows, Rows]:
    """The rows in force, and the rows of today, both locked."""
    rows = (
        Forecast.objects.select_for_update()
        .of(showroom)
        .filter(of_items, Q(is_current=True) | Q(as_of_on=today))
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
        elif not stored.is_current or _figures(stored) != _figures(row):
            row.pk = stored.pk
            altered.append(row)
    return fresh, altered


def _figures(row: Forecast) -> dict[str, Any]:
    return {name: getattr(row, name) for name in FIGURES if name not in {"made_at", "is_current"}}
