"""After one tick: the projection of its own container and of its item, and nothing else.

What its sisters taught is taken as it was kept last night; of the item only the difference is
taken. The work is the same for two containers and for two thousand.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from django.db import transaction
from django.db.models import QuerySet

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.work import want_work
from inventory.forecast.engine import ENGINE, project
from inventory.forecast.kept import sisters_of
from inventory.forecast.pooled import Beside, part_of
from inventory.forecast.types import Case, Options, Pool, Projection
from inventory.models import Forecast, ForecastPart
from inventory.queries.forecast_cases import Subject, forecast_subjects, per_unit
from inventory.queries.forecast_rows import learned_factor
from inventory.queries.keys import container_key, item_key
from inventory.queries.made_again import LARGEST
from inventory.queries.stock_facts import is_gas
from inventory.services import forecast_store as store
from inventory.services.forecast_rows import Made, Refreshed, Whole, row_of

KEPT = Options(keep_left=True)
SISTERS_TOLERANCE = 0.01
"""A factor that moves the mean of its sisters by more lets all of them learn again at once; less
waits for the night (own choice: a twentieth of what is held possible between sisters)."""


def refresh_one(*, showroom: Showroom, at: datetime, container_id: int) -> Refreshed | None:
    """Project one container that feeds a tank and bring its item up to date.

    None when that cannot stand alone: it is not fed or was never projected, its item was last put
    together on another day or by another version of the arithmetic. Then all of the item is made
    anew.
    """
    stored = Forecast.objects.of(showroom).filter(container_id=container_id, is_current=True)
    before = stored.select_related("item", "container").first()
    if before is None or before.engine != ENGINE or not before.made_from.get("sisters"):
        return None
    today = store.showroom_day(showroom, at)
    gas = is_gas(before.container)
    if not gas and not _sum(showroom, before.item_id).filter(as_of_on=today).exists():
        return None
    key = container_key(container_id)
    subjects = forecast_subjects(showroom, at, container_ids=[container_id])
    subject = next((one for one in subjects if one.key == key), None)
    if subject is None or not isinstance(subject.stock, Case):
        return None
    case = replace(subject.stock, sisters=sisters_of(before.made_from["sisters"]))
    found = project([case], KEPT)[0]
    row = row_of(showroom, Made(subject, found), at)
    done = _alone(before, row, at) if gas else _with_item(subject, case, found, row, at)
    if done is not None and done.altered + done.made:
        _sisters_move(before, row, at)
    return done


def _sum(showroom: Showroom, item_id: int) -> QuerySet[ForecastPart]:
    return ForecastPart.objects.of(showroom).filter(item_id=item_id, container=None)


def _alone(before: Forecast, row: Forecast, at: datetime) -> Refreshed:
    """A gas cylinder belongs to no item as a whole."""
    key = container_key(row.container_id or 0)
    with transaction.atomic():
        known = Forecast.objects.select_for_update().get(pk=before.pk)
        if not known.is_current or known.made_at > at:
            return Refreshed((key,), 0, 0, 1)
        is_new = known.as_of_on != row.as_of_on
        if is_new:
            Forecast.objects.filter(pk=known.pk).update(is_current=False)
        changed = store.store_one(None if is_new else known, row)
        if changed:
            store.look_again(row.showroom, at)
    return Refreshed((key,), int(is_new), int(changed and not is_new), int(not changed))


def _with_item(
    subject: Subject, case: Case, found: Projection, row: Forecast, at: datetime
) -> Refreshed | None:
    keys = (subject.key, item_key(subject.item.pk))
    with transaction.atomic():
        total = _sum(row.showroom, row.item_id).select_for_update().first()
        mine = ForecastPart.objects.filter(container=row.container).first()
        stored = Forecast.objects.select_for_update().filter(is_current=True, as_of_on=row.as_of_on)
        own = stored.filter(container=row.container).first()
        whole_row = stored.filter(item_id=row.item_id, container=None).first()
        if total is None or mine is None or own is None or whole_row is None:
            return None
        if total.as_of_on != row.as_of_on:
            return None
        if max(own.made_at, total.made_at) > at or store.figures(own) == store.figures(row):
            return Refreshed(keys, 0, 0, 2)
        whole = _whole(subject, found, total, mine, own, row)
        item = _item_subject(replace(subject, stock=case), whole, whole_row, own)
        concluded = project([item.stock])[0] if whole.places == 1 else whole.conclude()
        made = row_of(row.showroom, Made(item, concluded, whole), at)
        altered = store.store_one(own, row) + store.store_one(whole_row, made)
        _keep(mine, total, whole, subject, at)
        if altered:
            store.look_again(row.showroom, at)
    return Refreshed(keys, 0, altered, 2 - altered)


def _whole(
    subject: Subject,
    found: Projection,
    total: ForecastPart,
    mine: ForecastPart,
    own: Forecast,
    row: Forecast,
) -> Whole:
    """The item with what this place adds now in place of what it added before."""
    if not isinstance(subject.stock, Case):
        raise TypeError(f"{subject.key} is no place.")
    told, case = total.numbers, subject.stock
    part = part_of(case, found)
    digests = (int(told["digests"], 16) - int(own.digest, 16) + int(row.digest, 16)) % LARGEST
    return Whole(
        total=store.part_of_row(total).plus(store.part_of_row(mine), -1).plus(part),
        beside=Beside(
            case_id=item_key(subject.item.pk),
            unit=per_unit(subject.item)[0],
            as_of=case.as_of,
            reserve=float(told["reserve"]),
            reserve_sd=float(told["reserve_sd"]),
            supplier=subject.supplier,
            harm=case.harm,
        ),
        places=int(told["places"]),
        digests=f"{digests:064x}",
        kept=told["kept"],
        parts={case.case_id: part},
    )


def _item_subject(subject: Subject, whole: Whole, before: Forecast, own: Forecast) -> Subject:
    """The item as it is told now, by the difference that its place makes."""
    beside = whole.beside
    moments = [at for at in (before.measured_at, subject.measured_at) if at]
    return Subject(
        key=beside.case_id,
        item=subject.item,
        container=None,
        stock=Pool(
            beside.case_id,
            (subject.stock,) if isinstance(subject.stock, Case) else (),
            beside.reserve,
            beside.reserve_sd,
            beside.supplier,
            beside.harm,
        ),
        level=before.level_base - own.level_base + subject.level,
        measured_at=max(moments, default=None),
        per_day=before.plan_base_per_day - own.plan_base_per_day + round(subject.per_day),
        supplier=beside.supplier,
    )


def _keep(
    mine: ForecastPart, total: ForecastPart, whole: Whole, subject: Subject, at: datetime
) -> None:
    showroom, on = mine.showroom, whole.beside.as_of
    for known, new in (
        (
            mine,
            store.part_row(
                showroom, mine.item_id, mine.container_id, whole.parts[subject.key], at, on
            ),
        ),
        (total, store.sum_row(showroom, mine.item_id, whole, at)),
    ):
        new.pk = known.pk
        new.save()


def _sisters_move(before: Forecast, row: Forecast, at: datetime) -> None:
    """Wants all of the item when what one container learned moves its sisters."""
    moved = abs(learned_factor(row) - learned_factor(before))
    if moved <= SISTERS_TOLERANCE:
        return
    sisters = Forecast.objects.filter(
        item_id=row.item_id, is_current=True, container__isnull=False
    ).count()
    if sisters > 1 and moved / sisters > SISTERS_TOLERANCE:
        want_work(row.showroom, "forecast", item_key(row.item_id), at=at)
