"""One item or one container: what is left, and how is that known? Constant queries, paged.

Levels of what people give are sums of movements. A gas cylinder in use has the level of its stored
line, which takes off what the plan asked for since the last weighing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.core.paginator import Page, Paginator
from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet, Subquery, Sum

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.codes import parse_code
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import Quantity, quantity
from inventory.models import (
    Container,
    Item,
    Lot,
    Movement,
    StockLine,
    SupplierItem,
    Supply,
    Weighing,
)
from inventory.queries.levels import unusable_of
from inventory.queries.movements import DayUse, Entries, day_use, entries_of
from inventory.queries.stock_facts import spoken_name
from inventory.queries.stock_page import StockRow, lines_of_item
from tanks.models import TankCode

CONTAINERS_PER_PAGE = 20
LINES_SHOWN = 3
LOTS_SHOWN = 12


@dataclass(frozen=True, slots=True)
class ContainerRow:
    """A container with what is in it. ``feeds`` are codes of tanks, then names of zones.

    ``too_old_on`` is the earlier of the printed day and the end of its opened life;
    ``too_old_by`` says which: ``printed``, ``opened`` or nothing.
    """

    container: Container
    level: Quantity
    full: Quantity
    unusable: Quantity
    measured_at: datetime | None
    measured_by: str
    feeds: tuple[str, ...]
    printed_on: date | None
    opened_until: date | None
    is_next: bool
    """Of those not opened, the one that goes off first."""

    @property
    def name(self) -> str:
        """What people call it: a cylinder by its tanks, all else by its own name."""
        return spoken_name(self.container, self.feeds)

    @property
    def part_of_full(self) -> float:
        """Level as a part of full, 0 to 1."""
        return min(1.0, max(0.0, self.level.base / self.full.base)) if self.full.base else 0.0

    @property
    def too_old_on(self) -> date | None:
        """First day on which it is too old, by the label or by having been opened."""
        return min((d for d in (self.printed_on, self.opened_until) if d), default=None)

    @property
    def too_old_by(self) -> str:
        """Which of the two days comes first."""
        if self.too_old_on is None:
            return ""
        return "opened" if self.too_old_on == self.opened_until else "printed"


@dataclass(frozen=True, slots=True)
class LotRow:
    """A delivery, and how many of its containers are still here."""

    lot: Lot
    here: int


@dataclass(frozen=True, slots=True)
class OfferRow:
    """Who brings it, in which pack, after how many stated days, on which weekdays (0 Monday)."""

    supplier: str
    pack: Quantity
    lead_days: int
    weekdays: tuple[int, ...]
    is_first: bool


@dataclass(frozen=True, slots=True)
class ItemPage:
    """One item, whole.

    ``lines`` are its rows of the stock page: one, or for gas the three cylinders in use that must
    be seen to first, of ``lines_in_all``.
    """

    item: Item
    today: date
    lines: list[StockRow]
    lines_in_all: int
    level: Quantity
    """Of all its lines together."""
    page: Page[Container]
    rows: list[ContainerRow]
    lots: list[LotRow]
    offers: list[OfferRow]
    days: list[DayUse]
    entries: Entries


def item_page(
    showroom: Showroom, code: str, at: datetime, *, number: int | str = 1, entries: int | str = 1
) -> ItemPage:
    """Raises Unknown for an item that is not of this showroom.

    number, entries : which containers and which movements are shown
    """
    item = Item.objects.of(showroom).filter(code=code, voided_at=None).first()
    if item is None:
        raise Unknown("item")
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    told = StockLine.objects.filter(item=item).aggregate(n=Count("pk"), total=Sum("level_base"))
    page = Paginator(_in_turn(item), CONTAINERS_PER_PAGE).get_page(number)
    return ItemPage(
        item=item,
        today=today,
        lines=lines_of_item(showroom, item.pk, at, most=LINES_SHOWN),
        lines_in_all=told["n"],
        level=quantity(item.dimension, told["total"] or 0),
        page=page,
        rows=container_rows(item, list(page), at),
        lots=_lots(item),
        offers=_offers(item),
        days=day_use(item, today),
        entries=entries_of(Movement.objects.of(showroom).filter(item=item), entries),
    )


def container_by_code(showroom: Showroom, code: str) -> Container:
    """By its code as typed, also one that is finished. Raises Unknown."""
    try:
        wanted = parse_code(code)
    except OutOfRange:
        wanted = code
    rows = Container.objects.of(showroom).filter(code=wanted, voided_at=None)
    found: Container | None = rows.select_related(
        "showroom", "item", "lot__supplier", "room", "cylinder", "decanted_from"
    ).first()
    if found is None:
        raise Unknown("container")
    return found


def container_rows(
    item: Item, containers: Collection[Container], at: datetime
) -> list[ContainerRow]:
    """These containers of an item with level, last weighing and what they feed; five queries."""
    keys = [one.pk for one in containers]
    sums = dict(
        Movement.objects.filter(container__in=keys)
        .order_by()
        .values_list("container")
        .annotate(total=Sum("amount_base"))
    )
    lines = dict(
        StockLine.objects.filter(container__in=keys).values_list("container_id", "level_base")
    )
    last = _last_weighings(keys)
    feeds = _feeds(keys, at)
    following = _next_to_open(item)
    return [
        _container_row(
            one,
            int(lines.get(one.pk, sums.get(one.pk, 0)) or 0),
            last.get(one.pk),
            tuple(feeds.get(one.pk, ())),
            is_next=one.pk == following,
        )
        for one in containers
    ]


def _in_turn(item: Item) -> QuerySet[Container]:
    """Unfinished containers: in use, then opened, then as they go off; codes settle the rest."""
    feeding = Supply.objects.still().filter(container=OuterRef("pk"))
    return (
        Container.objects.filter(item=item, finished_on=None, voided_at=None)
        .select_related("item", "lot", "room")
        .annotate(in_use=Exists(feeding))
        .order_by(
            "-in_use",
            F("opened_on").asc(nulls_last=True),
            F("lot__expires_on").asc(nulls_last=True),
            F("received_on").asc(nulls_last=True),
            "code",
        )
    )


def _next_to_open(item: Item) -> int | None:
    """Key of the unopened container that goes off first, of equal ones the one longest here."""
    rows = Container.objects.filter(item=item, finished_on=None, voided_at=None, opened_on=None)
    found: int | None = (
        rows.order_by(
            F("lot__expires_on").asc(nulls_last=True),
            F("received_on").asc(nulls_last=True),
            "code",
        )
        .values_list("pk", flat=True)
        .first()
    )
    return found


def _last_weighings(keys: Collection[int]) -> dict[int, Weighing]:
    newest = (
        Weighing.objects.standing()
        .filter(container=OuterRef("pk"))
        .order_by("-done_at_corrected", "-pk")
        .values("pk")[:1]
    )
    wanted = Container.objects.filter(pk__in=keys).values(newest=Subquery(newest))
    rows = Weighing.objects.filter(pk__in=wanted).select_related("person")
    return {row.container_id: row for row in rows}


def _feeds(keys: Collection[int], at: datetime) -> dict[int, list[str]]:
    """Codes of tanks and "zone A" by container; two queries."""
    rows = list(
        Supply.objects.filter(container__in=keys)
        .at(at)
        .order_by("zone__code", "pk")
        .values_list("container_id", "tank_id", "zone__code")
    )
    named = codes_of({tank_id for _, tank_id, _ in rows if tank_id}, at)
    found: dict[int, list[str]] = defaultdict(list)
    for container_id, tank_id, zone in rows:
        name = named.get(tank_id, "") if tank_id else f"zone {zone}"
        if name:
            found[container_id].append(name)
    return {key: sorted(names) for key, names in found.items()}


def codes_of(tank_ids: Iterable[int], at: datetime) -> dict[int, str]:
    """Tank id -> code at that moment; one query."""
    rows = TankCode.objects.filter(tank__in=list(tank_ids), voided_at=None).at(at)
    return dict(rows.values_list("tank_id", "code"))


def _container_row(
    one: Container, base: int, last: Weighing | None, feeds: tuple[str, ...], *, is_next: bool
) -> ContainerRow:
    item = one.item
    life = item.opened_life_days
    return ContainerRow(
        container=one,
        level=quantity(item.dimension, base),
        full=quantity(item.dimension, one.capacity_base),
        unusable=quantity(item.dimension, unusable_of(one)),
        measured_at=last.done_at_corrected if last else None,
        measured_by=last.person.name if last else "",
        feeds=feeds,
        printed_on=one.lot.expires_on,
        opened_until=one.opened_on + timedelta(days=life) if one.opened_on and life else None,
        is_next=is_next,
    )


def _lots(item: Item) -> list[LotRow]:
    here = Count("containers", filter=Q(containers__finished_on=None, containers__voided_at=None))
    rows = (
        Lot.objects.filter(item=item, voided_at=None)
        .select_related("supplier")
        .annotate(here=here)
        .order_by(F("received_on").desc(nulls_last=True), "-pk")[:LOTS_SHOWN]
    )
    return [LotRow(row, row.here) for row in rows]


def _offers(item: Item) -> list[OfferRow]:
    rows = (
        SupplierItem.objects.of(item.showroom)
        .filter(item=item, supplier__voided_at=None, retired_at=None)
        .select_related("supplier")
        .order_by("-is_preferred", "supplier__name", "pack_base")
    )
    return [
        OfferRow(
            supplier=row.supplier.name,
            pack=quantity(item.dimension, row.pack_base),
            lead_days=row.supplier.stated_lead_days if row.lead_days is None else row.lead_days,
            weekdays=tuple(n for n, m in enumerate(row.supplier.delivery_weekdays) if m == "1"),
            is_first=row.is_preferred,
        )
        for row in rows
    ]
