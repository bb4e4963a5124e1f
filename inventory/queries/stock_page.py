"""What runs out, and what must be ordered by when? One answer for the stock page, constant queries.

A row is an item with all its containers, or for gas one cylinder, since a cylinder's content cannot
be carried to another tank. Rows come by the day on which somebody must act, then by harm class: the
database sorts and cuts the stored lines (:mod:`inventory.services.stock_lines`), so that a page
reads what it shows and nothing else.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet

from gallery_ops.kernel.models import Showroom, WorkItem
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.quantity import Quantity, quantity
from inventory.forecast.delivery import RISK
from inventory.models import Container, Forecast, Item, StockLine, StockToDo, Supplier, SupplierItem
from inventory.models.stock_line import NEVER
from inventory.queries.keys import container_key, item_key, parse_key
from inventory.queries.orders import OnOrder, on_order

STALE_AFTER = timedelta(hours=26)
"""A projection older than this stands still."""
PER_PAGE = 25
NAMED_AT_MOST = 3
TO_GET = (StockToDo.ORDER, StockToDo.EXCHANGE)


Habits = list[Mapping[str, Any]]
NAMED_HABITS = 3


@dataclass(frozen=True, slots=True)
class StockRow:
    """One line of the page. Days are None when they are not known or beyond a year.

    ``to_do`` says what is asked of a person: ``leak`` look for one, ``order`` by ``act_by``,
    ``exchange`` the cylinder by ``act_by``, ``too_old`` open the next, ``press`` change the
    instruction, ``count`` it is below nothing, ``weigh`` it was never measured, ``ask`` no delivery
    is known, ``plan`` nothing is planned with it, ``why`` it is not as expected, ``wait`` not
    counted yet, or ``nothing``.
    """

    key: str
    item: Item
    container: Container | None
    name: str
    harm_class: str
    level: Quantity
    level_at: datetime
    is_pending: bool
    """Something happened since ``level_at`` that is not counted yet."""
    full: Quantity
    containers: int
    tanks: int
    opened_on: date | None
    """Of the only container."""
    measured_at: datetime | None
    measured_by: str
    is_never_measured: bool
    is_below_nothing: bool
    earliest: date | None
    likely: date | None
    latest: date | None
    order_by: date | None
    too_old: date | None
    to_do: str
    act_by: date | None
    alert_uid: str
    supplier_name: str
    order_until: time | None
    """Hour of the gallery's clock until which its supplier takes an order for the day."""
    pack: Quantity | None
    plan_per_day: Quantity
    because: list[Mapping[str, Any]]
    habits: Habits
    """Slow things that weighings say of it: no alarm, a sentence."""
    out_before_next: float | None
    """Chance to be out before the next possible delivery ends."""
    made_at: datetime | None
    on_order: Sequence[OnOrder]
    scored: int
    """Projections of the item that met their truth within a year, so many inside their range."""
    inside: int
    early_days: float | None
    """Their likely day before the truth, mean [days]; after: negative."""

    @property
    def part_of_full(self) -> float:
        """Level as a part of full, 0 to 1, for a gauge."""
        return min(1.0, max(0.0, self.level.base / self.full.base)) if self.full.base else 0.0


@dataclass(frozen=True, slots=True)
class StockPage:
    """One page of the rows and what the sentence above all of them says."""

    today: date
    page: Page[StockLine]
    rows: list[StockRow]
    to_order_today: int
    alive_at_risk: list[str]
    """Names, at most three, of class A stock that may be out before its next delivery (2 %)."""
    alive_at_risk_count: int
    deliveries: tuple[date, ...]
    closures: tuple[date, ...]
    made_at: datetime | None
    is_stale: bool


def stock_page(
    showroom: Showroom,
    at: datetime,
    *,
    days: int = 56,
    number: int | str = 1,
    per_page: int = PER_PAGE,
) -> StockPage:
    """The stock of a showroom with its projections.

    Parameters
    ----------
    days : length of the time axis
    number, per_page : which rows; a number beyond the last gives the last page
    """
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    lines = StockLine.objects.of(showroom)
    rows = lines.order_by("act_by_on", "harm_class", "name", "id").select_related(
        "item", "container", "forecast", "alert"
    )
    page = Paginator(rows.defer("forecast__made_from", "alert__because"), per_page).get_page(number)
    at_risk = lines.filter(harm_class="A", out_before_next__gt=RISK["A"])
    oldest = (
        lines.exclude(projected_at=None)
        .order_by("projected_at")
        .values_list("projected_at", flat=True)
        .first()
    )
    vans = _vans(showroom)
    return StockPage(
        today=today,
        page=page,
        rows=rows_of(showroom, list(page), at),
        to_order_today=lines.filter(to_do__in=TO_GET, act_by_on__lte=today).count(),
        alive_at_risk=list(
            at_risk.order_by("act_by_on", "name").values_list("name", flat=True)[:NAMED_AT_MOST]
        ),
        alive_at_risk_count=at_risk.count(),
        deliveries=tuple(_deliveries(vans, today, days)),
        closures=tuple(_closures(vans, today, days)),
        made_at=oldest,
        is_stale=oldest is not None and at - oldest > STALE_AFTER,
    )


def lines_of_item(
    showroom: Showroom, item_id: int, at: datetime, *, most: int = PER_PAGE
) -> list[StockRow]:
    """The rows of one item: one, or for gas one a cylinder that is in use, the first to act on."""
    rows = StockLine.objects.of(showroom).filter(item_id=item_id)
    return rows_of(showroom, list(_in_full(rows)[:most]), at)


def line_of_container(showroom: Showroom, container: Container, at: datetime) -> StockRow | None:
    """The row of a cylinder that is in use; None for everything else."""
    rows = StockLine.objects.of(showroom).filter(container=container)
    return next(iter(rows_of(showroom, list(_in_full(rows)[:1]), at)), None)


def axis_days(
    showroom: Showroom, today: date, days: int
) -> tuple[tuple[date, ...], tuple[date, ...]]:
    """Days of the axis on which a van may come, and those on which some supplier is closed."""
    vans = _vans(showroom)
    return tuple(_deliveries(vans, today, days)), tuple(_closures(vans, today, days))


def _in_full(rows: QuerySet[StockLine]) -> QuerySet[StockLine]:
    return rows.order_by("act_by_on", "harm_class", "name", "id").select_related(
        "item", "container", "forecast", "alert"
    )


def rows_of(showroom: Showroom, lines: Collection[StockLine], at: datetime) -> list[StockRow]:
    """Stored lines as rows, with what is pending, may be bought and is to come; few queries."""
    item_ids = {line.item_id for line in lines}
    coming = on_order(showroom, item_ids, at=at)
    pending = _pending(showroom, item_ids)
    offers: dict[int, list[SupplierItem]] = {}
    found = (
        SupplierItem.objects.of(showroom)
        .filter(item_id__in=item_ids, supplier__voided_at=None, retired_at=None)
        .select_related("supplier")
        .order_by("-is_preferred", "pk")
    )
    for offer in found:
        offers.setdefault(offer.item_id, []).append(offer)
    habits = _habits(showroom, item_ids)
    return [
        _row(
            line,
            _key(line) in pending,
            _offer(line, offers.get(line.item_id, [])),
            coming.get(line.item_id, []),
            _habits_of(line, habits),
        )
        for line in lines
    ]


def _habits(showroom: Showroom, item_ids: Collection[int]) -> dict[int, dict[int, Habits]]:
    """What weighings say of each container by item: item id -> container id -> slow things."""
    rows = Forecast.objects.of(showroom).filter(
        is_current=True, item_id__in=item_ids, container__isnull=False, finding__has_key="habits"
    )
    found: dict[int, dict[int, Habits]] = {}
    for item_id, container_id, finding in rows.order_by("pk").values_list(
        "item_id", "container_id", "finding"
    ):
        found.setdefault(item_id, {})[container_id] = list(finding["habits"])
    return found


def _habits_of(line: StockLine, known: Mapping[int, Mapping[int, Habits]]) -> Habits:
    """Of a cylinder its own, of an item those of its first containers."""
    mine = known.get(line.item_id, {})
    if line.container_id is not None:
        return mine.get(line.container_id, [])
    return [one for habits in list(mine.values())[:NAMED_HABITS] for one in habits]


def _pending(showroom: Showroom, item_ids: Collection[int]) -> set[str]:
    """Keys of what waits to be projected: containers, and the items that they are of."""
    rows = WorkItem.objects.of(showroom).filter(kind="forecast", done_at=None)
    subjects = set(rows.values_list("subject", flat=True))
    named = [parse_key(subject) for subject in subjects]
    waiting = [one[1] for one in named if one is not None and one[0] == "container"]
    if waiting:
        of_them = Container.objects.of(showroom).filter(pk__in=waiting, item_id__in=item_ids)
        subjects |= {item_key(pk) for pk in of_them.values_list("item_id", flat=True)}
    return subjects


def _key(line: StockLine) -> str:
    return item_key(line.item_id) if line.container_id is None else container_key(line.container_id)


def _offer(line: StockLine, offers: list[SupplierItem]) -> SupplierItem | None:
    """The preferred pack; for a cylinder the one of its own size, if anybody offers that."""
    own = line.container.capacity_base if line.container is not None else None
    return next((o for o in offers if o.pack_base == own), offers[0] if offers else None)


def _row(
    line: StockLine,
    is_pending: bool,
    offer: SupplierItem | None,
    coming: Sequence[OnOrder],
    habits: Habits,
) -> StockRow:
    item, forecast = line.item, line.forecast
    return StockRow(
        key=_key(line),
        item=item,
        container=line.container,
        name=line.name,
        harm_class=line.harm_class,
        level=quantity(item.dimension, line.level_base),
        level_at=line.made_at,
        is_pending=is_pending or line.to_do == StockToDo.WAIT,
        full=quantity(item.dimension, line.full_base),
        containers=line.containers,
        tanks=line.tanks,
        opened_on=line.opened_on,
        measured_at=line.measured_at,
        measured_by=line.measured_by,
        is_never_measured=line.measured_at is None,
        is_below_nothing=line.is_below_nothing,
        **_days(forecast),
        too_old=line.too_old_on,
        to_do=str(line.to_do),
        act_by=None if line.act_by_on == NEVER else line.act_by_on,
        alert_uid=str(line.alert.uid) if line.alert is not None else "",
        supplier_name=offer.supplier.name if offer else "",
        order_until=offer.supplier.cut_off_at if offer else None,
        pack=quantity(item.dimension, offer.pack_base) if offer else None,
        plan_per_day=quantity(item.dimension, forecast.plan_base_per_day if forecast else 0),
        because=list(forecast.because) if forecast else [],
        habits=habits,
        out_before_next=line.out_before_next,
        made_at=line.projected_at,
        on_order=coming,
        scored=line.scored,
        inside=line.inside,
        early_days=line.early_days,
    )


def _days(forecast: Forecast | None) -> dict[str, date | None]:
    names = {
        "earliest": "earliest_on",
        "likely": "likely_on",
        "latest": "latest_on",
        "order_by": "order_by_on",
    }
    return {name: getattr(forecast, column, None) for name, column in names.items()}


def _vans(showroom: Showroom) -> list[Supplier]:
    """Suppliers of whom something is bought, with their closures; two queries."""
    rows = Supplier.objects.of(showroom).filter(voided_at=None, items__retired_at=None)
    bought = rows.filter(items__isnull=False).distinct()
    return list(bought.order_by("pk").prefetch_related("closures"))


def _deliveries(vans: Collection[Supplier], today: date, days: int) -> Iterable[date]:
    """Days of the axis on which a van of any supplier may come."""
    for n in range(1, days + 1):
        day = today + timedelta(days=n)
        if any(_comes(who, day) for who in vans):
            yield day


def _comes(who: Supplier, day: date) -> bool:
    return who.delivery_weekdays[day.weekday()] == "1" and not _is_closed(who, day)


def _is_closed(who: Supplier, day: date) -> bool:
    return any(c.from_on <= day < c.to_on for c in who.closures.all())


def _closures(vans: Collection[Supplier], today: date, days: int) -> Iterable[date]:
    """Days of the axis on which some supplier is closed."""
    for n in range(1, days + 1):
        day = today + timedelta(days=n)
        if any(_is_closed(who, day) for who in vans):
            yield day
