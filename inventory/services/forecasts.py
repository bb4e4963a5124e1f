"""Projections, made again from what is known now and stored so that making them twice is the same.

Reading and arithmetic happen outside any transaction; then the rows are written in one, and only
where no run with later knowledge was quicker. A mark about one container touches its projection and
that of its item, nothing else; about an item, all of that item; without subject, everything, and
then sisters teach each other anew.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime, timedelta

from django.db.models import Min

from gallery_ops.kernel.models import Showroom
from inventory.forecast.engine import project
from inventory.forecast.pooled import part_of
from inventory.forecast.types import Case, Options, Pool, Projection
from inventory.models import Container, Forecast, SupplierItem
from inventory.queries.forecast_cases import Subject, forecast_subjects
from inventory.queries.keys import parse_key
from inventory.services import forecast_store as store
from inventory.services.forecast_rows import Made, Refreshed, Whole
from inventory.services.one_forecast import refresh_one

__all__ = ["Refreshed", "refresh"]

KEPT = Options(keep_left=True)
CUT_OFF_LASTS = timedelta(hours=2)
"""So long after it a supplier's last hour is looked at; the job comes every hour."""
NOTHING = Refreshed((), 0, 0, 0)


def refresh(*, showroom: Showroom, at: datetime, subject: str = "") -> Refreshed:
    """Project one stock and its item, or all stocks of a showroom, and store what follows.

    Parameters
    ----------
    subject : ``container:7`` for one container and its item, with what its sisters taught before;
        ``item:3`` for all of an item; empty for everything. A subject that is not there (finished,
        voided) projects nothing.

    Running it twice stores the same row; running it late or at once with another stores the newest
    knowledge. Wants ``reorder`` and ``watch`` when something changed.
    """
    named = parse_key(subject)
    if subject and named is None:
        return NOTHING
    item_ids: Collection[int] | None = None
    if named is not None and named[0] == "container":
        found = refresh_one(showroom=showroom, at=at, container_id=named[1])
        if found is not None:
            return found
        rows = Container.objects.of(showroom).filter(pk=named[1])
        item_ids = tuple(rows.values_list("item_id", flat=True))
    elif named is not None:
        item_ids = (named[1],)
    return refresh_items(showroom=showroom, at=at, item_ids=item_ids)


def refresh_due(*, showroom: Showroom, at: datetime) -> Refreshed:
    """Project everything if that was not done on this business day yet; else only what is bought
    from suppliers whose last hour for today's order has passed since.
    """
    if whole_is_due(showroom, at):
        return refresh_items(showroom=showroom, at=at, item_ids=None)
    today = store.showroom_day(showroom, at)
    late = _past_cut_off(showroom, at, today)
    return refresh_items(showroom=showroom, at=at, item_ids=late) if late else NOTHING


def whole_is_due(showroom: Showroom, at: datetime) -> bool:
    """Was not everything projected on this business day yet?"""
    today = store.showroom_day(showroom, at)
    current = Forecast.objects.of(showroom).filter(is_current=True)
    return not current.exists() or current.filter(as_of_on__lt=today).exists()


def _past_cut_off(showroom: Showroom, at: datetime, today: date) -> set[int]:
    """Items whose projection was made before the last hour of their supplier's day, now past."""
    rows = SupplierItem.objects.of(showroom).filter(
        supplier__voided_at=None, supplier__cut_off_at__isnull=False, is_preferred=True
    )
    current = Forecast.objects.of(showroom).filter(is_current=True)
    made = dict(current.values_list("item_id").annotate(oldest=Min("made_at")))
    out: set[int] = set()
    for item_id, clock in rows.values_list("item_id", "supplier__cut_off_at"):
        last = datetime.combine(today, clock, tzinfo=showroom.tz)
        if last < at <= last + CUT_OFF_LASTS and item_id in made and made[item_id] <= last:
            out.add(item_id)
    return out


def refresh_items(
    *, showroom: Showroom, at: datetime, item_ids: Collection[int] | None
) -> Refreshed:
    """Project all of these items, or of all; sisters learn from each other anew. One batch."""
    subjects = forecast_subjects(showroom, at, item_ids=item_ids)
    made = project_all(subjects)
    new, altered = store.store_all(showroom, made, item_ids, at)
    keys = tuple(one.subject.key for one in made)
    return Refreshed(keys, new, altered, len(keys) - new - altered)


def project_all(subjects: list[Subject]) -> list[Made]:
    """Every subject with its projection, containers first, from one call of the engine.

    An item in one place is projected as it is; one in several is put together from its places.
    """
    stocks: list[Case | Pool] = [one.stock for one in subjects if one.container]
    pools = [one for one in subjects if one.container is None]
    for one in pools:
        stock = one.stock
        own = [stock] if isinstance(stock, Case) or len(stock.places) == 1 else []
        stocks += own or [place for place in _places(stock) if place.group == ""]
    found = {one.case_id: one for one in project(stocks, KEPT)}
    out = [Made(one, found[one.key]) for one in subjects if one.container]
    return out + [_item(one, found) for one in pools]


def _places(stock: Case | Pool) -> tuple[Case, ...]:
    return stock.places if isinstance(stock, Pool) else ()


def _item(subject: Subject, found: dict[str, Projection]) -> Made:
    if isinstance(subject.stock, Case):
        return Made(subject, found[subject.key])
    parts = {
        place.case_id: part_of(place, found[place.case_id])
        for place in subject.stock.places
        if place.case_id in found
    }
    whole = Whole.of(subject, parts, found)
    return Made(subject, found.get(subject.key) or whole.conclude(), whole)
