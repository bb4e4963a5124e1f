"""Everything that is known of the stock of a showroom, in a constant number of queries.

The raw rows that levels, projections, watch rules and the stock page are made from. Nothing is
concluded here. Amounts are whole base units (uL, mg, pieces), days are business days.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db.models import Q, QuerySet, Sum

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day, day_bounds
from inventory.models import (
    Container,
    ItemKind,
    Movement,
    SupplierItem,
    Supply,
    Use,
)
from inventory.queries.measured_facts import (
    Found,
    Looked,
    Portioned,
    Pressed,
    Weighed,
    read_measured,
    read_seen,
)
from inventory.queries.plans import Step, steps
from inventory.queries.suppliers import seen_leads
from tanks.models import Placement, TankCode

WINDOW_DAYS = 180
"""How far back a projection looks."""
WHOLE_PERMILLE = 1000
"""A tank draws its whole plan from the one container that feeds it. The shares of a manifold only
say whose part of what was weighed it was; they take nothing off a plan."""


@dataclass(frozen=True, slots=True)
class Feed:
    """A container fed a tank on these business days, ``end`` the first day no longer; None =
    still.
    """

    container_id: int
    tank_id: int
    item_id: int
    purpose: str
    start: date
    end: date | None
    share_permille: int

    def holds(self, day: date) -> bool:
        """Was it so on this day?"""
        return self.start <= day and (self.end is None or day < self.end)


@dataclass(frozen=True, slots=True)
class Given:
    """What the uses of one container say of one tank and day.

    ``asked``: what was given as the instruction reckons it: presses times the stated press, however
    much a press was measured to give; the same as ``given`` where nothing was pressed.
    """

    given: int
    asked: int
    planned: int
    is_skip: bool
    at: datetime


@dataclass(frozen=True, slots=True)
class Moved:
    """A movement that is neither a use nor the difference of a weighing."""

    day: date
    at: datetime
    kind: str
    amount: int
    sd: int | None = None
    """How well the amount is known; None: as usual for its kind."""


@dataclass(slots=True)
class StockFacts:
    """The rows, by what they belong to. Containers that are finished or voided are left out."""

    showroom: Showroom
    at: datetime
    today: date
    first_day: date
    containers: dict[int, Container] = field(default_factory=dict)
    balances: dict[int, int] = field(default_factory=dict)
    balances_before: dict[int, int] = field(default_factory=dict)
    codes: dict[int, str] = field(default_factory=dict)
    feeds: dict[int, list[Feed]] = field(default_factory=lambda: defaultdict(list))
    plans: dict[tuple[int, int, str], list[Step]] = field(default_factory=lambda: defaultdict(list))
    uses: dict[int, dict[tuple[int, date], list[Given]]] = field(
        default_factory=lambda: defaultdict(lambda: defaultdict(list))
    )
    given_elsewhere: dict[tuple[int, int, date], set[int | None]] = field(
        default_factory=lambda: defaultdict(set)
    )
    moved: dict[int, list[Moved]] = field(default_factory=lambda: defaultdict(list))
    weighed: dict[int, list[Weighed]] = field(default_factory=lambda: defaultdict(list))
    pressed: dict[int, list[Pressed]] = field(default_factory=lambda: defaultdict(list))
    looked: dict[int, list[Looked]] = field(default_factory=lambda: defaultdict(list))
    found: dict[int, list[Found]] = field(default_factory=lambda: defaultdict(list))
    portioned: dict[tuple[int, int], list[Portioned]] = field(
        default_factory=lambda: defaultdict(list)
    )
    """What a portion of the feeder gives, by tank and item."""
    asked: dict[int, dict[date, int]] = field(
        default_factory=lambda: defaultdict(lambda: defaultdict(int))
    )
    """Pieces of an item that went on a day; days on which any of it moved."""
    suppliers: dict[int, SupplierItem] = field(default_factory=dict)
    """The preferred offer of each item."""
    leads: dict[int, tuple[float, ...]] = field(default_factory=dict)
    """Days that the orders of each supplier took."""
    offers: dict[int, list[SupplierItem]] = field(default_factory=lambda: defaultdict(list))

    def day_of(self, moment: datetime) -> date:
        """The business day of a moment in this showroom."""
        return business_day(moment, self.showroom.tz, self.showroom.cut_off_hour)

    def tanks_of(self, container_id: int) -> list[str]:
        """Codes of the tanks that a container feeds today."""
        fed = {f.tank_id for f in self.feeds.get(container_id, ()) if f.holds(self.today)}
        return sorted(self.codes[tank_id] for tank_id in fed if tank_id in self.codes)

    def is_fed_now(self, container_id: int) -> bool:
        """Does this container feed a tank today?"""
        return any(feed.holds(self.today) for feed in self.feeds.get(container_id, ()))


def stock_facts(
    showroom: Showroom,
    at: datetime,
    *,
    item_ids: Collection[int] | None = None,
    container_ids: Collection[int] | None = None,
    with_finished: bool = False,
    with_uses: bool = False,
) -> StockFacts:
    """The facts of the 180 days before ``at``, of all items or of these, in a dozen queries.

    What was done after ``at`` is left out, so that a day in the past is told as it stood.

    container_ids : only of these containers and of the tanks that they feed

    with_uses : also every use of the window, which only a projection needs
    with_finished : also containers that were finished within the window (for a line's own history)
    """
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    facts = StockFacts(showroom, at, today, today - timedelta(days=WINDOW_DAYS - 1))
    of_items = Q() if item_ids is None else Q(item_id__in=item_ids)
    if container_ids is not None:
        of_containers = Container.objects.of(showroom).filter(pk__in=list(container_ids))
        item_ids = set(of_containers.values_list("item_id", flat=True))
        of_items = Q(item_id__in=item_ids)
    _containers(facts, of_items, with_finished, container_ids)
    _balances(facts)
    _feeds(facts, of_items, container_ids)
    tank_ids = None if container_ids is None else _tanks_fed(facts)
    _codes(facts, tank_ids)
    _plans(facts, item_ids, tank_ids)
    if with_uses:
        _uses(facts, of_items, container_ids, tank_ids)
        read_seen(facts, of_items, tank_ids)
    _moved(facts)
    read_measured(facts)
    _suppliers(facts, of_items)
    return facts


def _tanks_fed(facts: StockFacts) -> set[int]:
    return {feed.tank_id for feeds in facts.feeds.values() for feed in feeds}


def _containers(
    facts: StockFacts, of_items: Q, with_finished: bool, container_ids: Collection[int] | None
) -> None:
    unfinished = Q(finished_on__isnull=True) | Q(finished_on__gt=facts.today)
    if with_finished:
        unfinished |= Q(finished_on__gte=facts.first_day)
    if container_ids is not None:
        unfinished &= Q(pk__in=list(container_ids))
    rows = (
        Container.objects.of(facts.showroom)
        .filter(of_items, unfinished, voided_at=None, item__retired_at=None, item__voided_at=None)
        .select_related("item", "lot", "room", "cylinder")
        .order_by("pk")
    )
    facts.containers = {row.pk: row for row in rows}


def _balances(facts: StockFacts) -> None:
    start, _ = day_bounds(facts.first_day, facts.showroom.tz, facts.showroom.cut_off_hour)
    rows = (
        Movement.objects.filter(
            container_id__in=list(facts.containers), done_at_corrected__lte=facts.at
        )
        .values("container_id")
        .annotate(
            now=Sum("amount_base"),
            before=Sum("amount_base", filter=Q(done_at_corrected__lt=start)),
        )
        .order_by("container_id")
    )
    for row in rows:
        facts.balances[row["container_id"]] = int(row["now"] or 0)
        facts.balances_before[row["container_id"]] = int(row["before"] or 0)


def _feeds(facts: StockFacts, of_items: Q, container_ids: Collection[int] | None) -> None:
    showroom, at = facts.showroom, facts.at
    start, _ = day_bounds(facts.first_day, showroom.tz, showroom.cut_off_hour)
    rows = (
        Supply.objects.of(showroom)
        .filter(of_items, Q(to_at__isnull=True) | Q(to_at__gt=start), from_at__lte=at)
        .order_by("from_at", "pk")
    )
    supplies = list(rows if container_ids is None else rows.filter(container_id__in=container_ids))
    placed = Placement.objects.of(showroom).filter(voided_at=None).at(at)
    if container_ids is not None:
        placed = placed.filter(position__zone_id__in={s.zone_id for s in supplies if s.zone_id})
    in_zone: dict[int, list[int]] = defaultdict(list)
    for tank_id, zone_id in placed.order_by("tank_id").values_list("tank_id", "position__zone_id"):
        in_zone[zone_id].append(tank_id)
    others = supplies
    if container_ids is not None and in_zone:
        fed = [tank_id for tanks in in_zone.values() for tank_id in tanks]
        others = list(rows.filter(tank_id__in=fed))
    own = {(s.tank_id, s.item_id, s.purpose) for s in others if s.tank_id and _still(s, at)}
    for supply in supplies:
        if supply.container_id not in facts.containers:
            continue
        tanks: Iterable[int] = [supply.tank_id] if supply.tank_id else in_zone[supply.zone_id]
        for tank_id in tanks:
            if supply.zone_id and (tank_id, supply.item_id, supply.purpose) in own:
                continue
            facts.feeds[supply.container_id].append(
                Feed(
                    container_id=supply.container_id,
                    tank_id=tank_id,
                    item_id=supply.item_id,
                    purpose=supply.purpose,
                    start=facts.day_of(supply.from_at),
                    end=facts.day_of(supply.to_at) if supply.to_at else None,
                    share_permille=WHOLE_PERMILLE,
                )
            )


def _codes(facts: StockFacts, tank_ids: Collection[int] | None) -> None:
    rows = TankCode.objects.of(facts.showroom).filter(voided_at=None).at(facts.at)
    if tank_ids is not None:
        rows = rows.filter(tank_id__in=tank_ids)
    facts.codes = dict(rows.values_list("tank_id", "code"))


def _still(supply: Supply, at: datetime) -> bool:
    return supply.to_at is None or bool(supply.to_at > at)


def _plans(
    facts: StockFacts, item_ids: Collection[int] | None, tank_ids: Collection[int] | None
) -> None:
    rows = steps(facts.showroom, facts.first_day, None, item_ids=item_ids, tank_ids=tank_ids)
    for step in rows:
        facts.plans[step.tank_id, step.item_id, step.purpose].append(step)


def _uses(
    facts: StockFacts,
    of_items: Q,
    container_ids: Collection[int] | None,
    tank_ids: Collection[int] | None,
) -> None:
    """Uses of the window. For a few containers by the database's indexes of container and tank, so
    that the work does not grow with what others used.
    """
    if container_ids is None:
        _take_uses(facts, Use.objects.of(facts.showroom).filter(of_items))
        return
    _take_uses(facts, Use.objects.filter(container_id__in=container_ids))
    items = {container.item_id for container in facts.containers.values()}
    rows = _in_window(facts, Use.objects.filter(tank_id__in=tank_ids or ()))
    for container_id, tank_id, item_id, day in rows.values_list(
        "container_id", "tank_id", "item_id", "business_on"
    ):
        if item_id in items:
            facts.given_elsewhere[tank_id, item_id, day].add(container_id)


def _in_window(facts: StockFacts, uses: QuerySet[Use]) -> QuerySet[Use]:
    return uses.standing().filter(  # type: ignore[attr-defined]
        business_on__gte=facts.first_day, business_on__lte=facts.today
    )


def _take_uses(facts: StockFacts, uses: QuerySet[Use]) -> None:
    rows = (
        _in_window(facts, uses)
        .order_by("done_at_corrected", "pk")
        .values_list(
            "container_id", "tank_id", "item_id", "business_on",
            "given_base", "planned_base", "is_skip", "done_at_corrected", "presses",
        )
    )  # fmt: skip
    for container_id, tank_id, item_id, day, given, planned, is_skip, done_at, presses in rows:
        facts.given_elsewhere[tank_id, item_id, day].add(container_id)
        container = facts.containers.get(container_id)
        if container is not None:
            nominal = container.press_nominal_ul
            asked = presses * nominal if presses and nominal else given
            facts.uses[container_id][tank_id, day].append(
                Given(given, asked, planned, is_skip, done_at)
            )


def _moved(facts: StockFacts) -> None:
    start, _ = day_bounds(facts.first_day, facts.showroom.tz, facts.showroom.cut_off_hour)
    rows = (
        Movement.objects.filter(
            container_id__in=list(facts.containers), done_at_corrected__gte=start
        )
        .standing()
        .exclude(kind__in=["use", "measured_use"])
        .filter(weighing__isnull=True)
        .order_by("done_at_corrected", "pk")
        .values_list("container_id", "done_at_corrected", "kind", "amount_base", "sd_base")
    )
    for container_id, done_at, kind, amount, sd in rows:
        facts.moved[container_id].append(Moved(facts.day_of(done_at), done_at, kind, amount, sd))


def _suppliers(facts: StockFacts, of_items: Q) -> None:
    rows = (
        SupplierItem.objects.of(facts.showroom)
        .filter(of_items, supplier__voided_at=None)
        .select_related("supplier")
        .prefetch_related("supplier__closures")
        .order_by("-is_preferred", "pk")
    )
    for row in rows:
        facts.suppliers.setdefault(row.item_id, row)
        facts.offers[row.item_id].append(row)
    who = {row.supplier_id for row in facts.suppliers.values()}
    facts.leads = seen_leads(facts.showroom, who, until=facts.at)


def spoken_name(container: Container, tanks: Sequence[str]) -> str:
    """What people call it: a cylinder by the tanks it stands under, all else by its own name."""
    if not is_gas(container) or not tanks:
        return str(container)
    return f"{container.item.name} of {', '.join(tanks)}"


def is_gas(container: Container) -> bool:
    """Does a valve draw from it, so that only a weighing says what went?"""
    return bool(container.item.kind == ItemKind.GAS)
