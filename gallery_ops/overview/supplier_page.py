"""Who delivers, as pages show it: next van, what they take, how long they take, what they sell."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import Sum

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.money import Money
from gallery_ops.overview.unordered_page import loose_receipts
from inventory.models import (
    Container,
    Deposit,
    GoodsReceipt,
    Item,
    PriceSeen,
    PurchaseOrder,
    Supplier,
    SupplierClosure,
    SupplierItem,
)
from inventory.queries.items import open_items
from inventory.queries.orders import orders
from inventory.queries.packs import pack_words, vessels
from inventory.queries.suppliers import (
    LeadKnown,
    day_of,
    delivering,
    is_past_cut_off,
    lead_known,
    next_van,
    offers,
    seen_leads,
    supplier_of,
    suppliers,
)

LAST_ORDERS = 10
PAST_CLOSURES_DAYS = 30
AXIS_LEAST_DAYS = 14


@dataclass(frozen=True, slots=True)
class SupplierRow:
    """One of those who deliver, in a list."""

    supplier: Supplier
    lead: LeadKnown
    next_van: date | None
    is_past_cut_off: bool
    packs: int
    deposit: Money


@dataclass(frozen=True, slots=True)
class PackRow:
    """A pack that they sell, with the prices that were seen of it, newest first."""

    offer: SupplierItem
    words: str
    price: Money | None
    prices: list[tuple[date, Money]]
    deposit: Money | None

    @property
    def name(self) -> str:
        """Its name on the page."""
        return f"{self.offer.item.uid}:{self.offer.pack_base}"

    @property
    def rise_percent(self) -> int | None:
        """How much dearer it is than at the first price that is known [%]."""
        if len(self.prices) < 2 or not self.prices[-1][1].cents:
            return None
        first, last = self.prices[-1][1].cents, self.prices[0][1].cents
        return round(100 * (last - first) / first)


@dataclass(frozen=True, slots=True)
class SupplierPage:
    """Everything that the page of a supplier shows."""

    supplier: Supplier
    lead: LeadKnown
    drawing: str
    vans: list[date]
    living_vans: list[date]
    packs: list[PackRow]
    closures: list[SupplierClosure]
    deposit: Money
    deposits: list[Deposit]
    orders: list[PurchaseOrder]
    items: list[Item]
    here: list[Container]
    """Containers of theirs that could go back."""
    loose: list[GoodsReceipt]
    """Vans that came without an order."""


def supplier_list(showroom: Showroom, at: datetime) -> list[SupplierRow]:
    """All who deliver; a constant number of queries."""
    rows = suppliers(showroom)
    leads = seen_leads(showroom)
    balances = _balances(showroom)
    sold: dict[int, int] = defaultdict(int)
    for offer in offers(showroom):
        sold[offer.supplier_id] += 1
    today = day_of(showroom, at)
    found = []
    for row in rows:
        seen = leads.get(row.pk, ())
        late = is_past_cut_off(row, at)
        who = delivering(row, seen, past_cut_off=late)
        found.append(
            SupplierRow(
                supplier=row,
                lead=lead_known(row, seen),
                next_van=next_van(who, today),
                is_past_cut_off=late,
                packs=sold[row.pk],
                deposit=Money(balances.get(row.pk, 0), showroom.currency),
            )
        )
    return found


def supplier_page(showroom: Showroom, uid: UUID, at: datetime) -> SupplierPage:
    """One of them. Raises Unknown."""
    supplier = supplier_of(showroom, uid)
    seen = seen_leads(showroom, [supplier.pk]).get(supplier.pk, ())
    lead = lead_known(supplier, seen)
    today = day_of(showroom, at)
    old = today - timedelta(days=PAST_CLOSURES_DAYS)
    closures = list(
        SupplierClosure.objects.filter(supplier=supplier, to_on__gt=old).order_by("from_on")
    )
    return SupplierPage(
        supplier=supplier,
        lead=lead,
        drawing=lead_svg(lead),
        vans=_vans(supplier, today),
        living_vans=_vans(supplier, today, living=True) if supplier.living_weekdays else [],
        packs=_packs(showroom, supplier),
        closures=closures,
        deposit=Money(_balances(showroom).get(supplier.pk, 0), showroom.currency),
        deposits=list(
            Deposit.objects.standing()
            .filter(supplier=supplier)
            .select_related("container", "person")
            .order_by("-done_at_corrected", "-pk")[:LAST_ORDERS]
        ),
        orders=list(orders(showroom).filter(supplier=supplier)[:LAST_ORDERS]),
        items=open_items(showroom),
        here=list(
            Container.objects.of(showroom)
            .filter(lot__supplier=supplier, finished_on=None, voided_at=None)
            .select_related("item", "cylinder")
            .order_by("item__name", "code")[:200]
        ),
        loose=loose_receipts(supplier),
    )


def _balances(showroom: Showroom) -> dict[int, int]:
    rows = Deposit.objects.of(showroom).standing().order_by()
    summed = rows.values("supplier_id").annotate(cents=Sum("amount_cents"))
    return {row["supplier_id"]: int(row["cents"] or 0) for row in summed}


def _vans(supplier: Supplier, today: date, *, living: bool = False) -> list[date]:
    who, day, found = delivering(supplier, living=living), today, []
    for _n in range(4):
        van = next_van(who, day)
        if van is None:
            break
        found.append(van)
        day = van
    return found


def _packs(showroom: Showroom, supplier: Supplier) -> list[PackRow]:
    rows = offers(showroom, [supplier.pk])
    kinds = vessels(showroom, [(row.item, row.pack_base) for row in rows])
    prices = _prices(rows, showroom.currency)
    currency, mark = showroom.currency, showroom.decimal_mark
    return [
        PackRow(
            offer=row,
            words=pack_words(
                row.item, row.pack_base, 1, kinds[row.item_id, row.pack_base].kind, mark
            ),
            price=Money(row.price_cents, currency) if row.price_cents is not None else None,
            prices=prices.get(row.pk, []),
            deposit=Money(row.deposit_cents, currency) if row.deposit_cents else None,
        )
        for row in rows
    ]


def _prices(rows: Iterable[SupplierItem], currency: str) -> dict[int, list[tuple[date, Money]]]:
    found: dict[int, list[tuple[date, Money]]] = defaultdict(list)
    seen = PriceSeen.objects.standing().filter(supplier_item__in=[row.pk for row in rows])
    for key, on, cents in seen.order_by("-from_on", "-pk").values_list(
        "supplier_item_id", "from_on", "price_cents"
    ):
        found[key].append((on, Money(cents, currency)))
    return found


# --- how long they take -------------------------------------------------------------------------
def lead_svg(lead: LeadKnown) -> str:
    """Days from order to van: each order that came as a dot, nine in ten as a band, what they say
    as a dashed line, what we take as a bar. Silent: the words stand beside it.
    """
    width, left, right = 520.0, 12.0, 24.0
    most = max([AXIS_LEAST_DAYS, lead.high_days + 2, *lead.seen])

    def x(days: float) -> float:
        return round(left + (width - left - right) * days / most, 1)

    low, high = x(lead.low_days), x(lead.high_days)
    parts = [
        f'<path class="band" d="M{low} 22H{high}V46H{low}Z"/>',
        f'<path class="base" d="M{left} 46H{width - right}"/>',
        f'<path class="said" d="M{x(lead.stated_days)} 14V50"/>',
        f'<path class="mid" d="M{x(lead.median_days)} 22V46"/>',
    ]
    piled: dict[float, int] = defaultdict(int)
    for days in lead.seen:
        height = piled[days]
        piled[days] += 1
        parts.append(f'<circle class="was" cx="{x(days)}" cy="{41 - 6 * height}" r="3.5"/>')
    step = 7 if most > 21 else 2
    parts += [
        f'<text x="{x(n)}" y="64" text-anchor="middle">{n}</text>'
        for n in range(0, int(most) + 1, step)
    ]
    return (
        f'<svg class="lead-strip" viewBox="0 0 {width:g} 70" aria-hidden="true" '
        f'focusable="false">{"".join(parts)}</svg>'
    )
