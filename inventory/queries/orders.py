"""What is on order, what does it cost, and how does the letter read?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Max, QuerySet, Sum

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.money import Money
from inventory.models import (
    GoodsReceipt,
    Item,
    MonthBudget,
    OrderLine,
    OrderState,
    PurchaseOrder,
    ReceiptLine,
    Supplier,
)
from inventory.queries.packs import PackKey, Vessel, pack_words, vessels
from inventory.queries.suppliers import day_of, delivering, next_van, seen_leads, window

EXPECTED_CHANCES = (0.05, 0.95)
"""On order: nine vans in ten come between these."""
COMING = (OrderState.SENT, OrderState.PART_RECEIVED)
LETTER_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True, slots=True)
class OnOrder:
    """So much of an item is to come, by one order.

    Parameters
    ----------
    base : in base units
    expected_from, expected_to : delivery days between which nine such orders in ten come;
        ``expected_to`` None when it should have come before ``at``: nobody knows, ask the supplier
    """

    base: int
    expected_from: date
    expected_to: date | None
    order_number: int
    packs: int
    pack_base: int


@dataclass(frozen=True, slots=True)
class OrderMoney:
    """What an order costs.

    Parameters
    ----------
    goods : of what is wanted and priced; ``unpriced`` lines are not in it
    carriage : as written on the order, else by the supplier's rule
    smallest : the smallest order that the supplier takes; nothing when there is none
    to_pay : goods and carriage
    budget : set aside for the month; None when nothing was said
    spent : goods and carriage of the orders sent in that month, without this one
    """

    goods: Money
    carriage: Money
    smallest: Money
    to_pay: Money
    budget: Money | None
    spent: Money
    unpriced: int

    @property
    def is_smallest_met(self) -> bool:
        """Do they take an order of this size?"""
        return self.goods >= self.smallest

    @property
    def over_budget(self) -> Money | None:
        """What it costs more than is left for the month; None when it fits or nothing was set."""
        if self.budget is None:
            return None
        over = self.spent + self.to_pay - self.budget
        return over if over.cents > 0 else None


# --- which orders -------------------------------------------------------------------------------
def order_of(showroom: Showroom, uid: UUID) -> PurchaseOrder:
    """The order of this name for programs. Raises Unknown."""
    found: PurchaseOrder | None = _orders(showroom).filter(uid=uid).first()
    if found is None:
        raise Unknown("order")
    return found


def orders(showroom: Showroom, *, states: Collection[str] = ()) -> QuerySet[PurchaseOrder]:
    """Orders, the newest first; of these states where they are given."""
    rows = _orders(showroom)
    if states:
        rows = rows.filter(state__in=list(states))
    return rows.order_by("-number")


def draft_to(supplier: Supplier) -> PurchaseOrder | None:
    """The one open draft to this supplier, or None."""
    found: PurchaseOrder | None = (
        _orders(supplier.showroom).filter(supplier=supplier, state=OrderState.DRAFT).first()
    )
    return found


def last_sent(showroom: Showroom, *, supplier: Supplier | None = None) -> dict[int, int]:
    """Supplier id -> number of the last order that was sent to them; one query."""
    rows = PurchaseOrder.objects.of(showroom).filter(sent_at__isnull=False)
    if supplier is not None:
        rows = rows.filter(supplier=supplier)
    found = rows.order_by().values_list("supplier_id").annotate(last=Max("number"))
    return dict(found)


def lines_of(orders: Iterable[PurchaseOrder]) -> dict[int, list[OrderLine]]:
    """Order id -> its lines with item, in the order in which they were written; one query."""
    found: dict[int, list[OrderLine]] = defaultdict(list)
    rows = OrderLine.objects.filter(order__in=[order.pk for order in orders], voided_at=None)
    for line in rows.select_related("item").order_by("pk"):
        found[line.order_id].append(line)
    return found


def settled_packs(lines: Iterable[OrderLine]) -> dict[int, int]:
    """Line id -> packs that receipts have settled; one query."""
    rows = ReceiptLine.objects.standing().filter(line__in=[line.pk for line in lines])
    summed = rows.order_by().values("line_id").annotate(packs=Sum("counts_for_packs"))
    return {row["line_id"]: int(row["packs"] or 0) for row in summed}


def outstanding(line: OrderLine, settled: int) -> int:
    """Packs that are neither here nor unwanted."""
    return max(0, line.packs - line.not_wanted_packs - settled)


def is_received(showroom: Showroom, action_id: UUID) -> bool:
    """Was a receipt of this action written down already?"""
    return GoodsReceipt.objects.of(showroom).filter(action_id=action_id, corrects=None).exists()


def receipts_listed(showroom: Showroom) -> QuerySet[GoodsReceipt]:
    """Vans, the newest first, with what they brought; four queries."""
    rows: QuerySet[GoodsReceipt] = (
        GoodsReceipt.objects.of(showroom)
        .standing()
        .select_related("supplier", "order", "person")
        .prefetch_related("lines__item", "lines__line", "lines__lot")
        .order_by("-done_at_corrected", "-pk")
    )
    return rows


# --- what is to come ----------------------------------------------------------------------------
def on_order(
    showroom: Showroom, item_ids: Collection[int] | None = None, *, at: datetime | None = None
) -> dict[int, list[OnOrder]]:
    """Item id -> what is to come of it, soonest first; a constant number of queries.

    A draft is not on order. ``at``: days before it are left out of the expectation, and an order
    that should have come by then has no ``expected_to``.
    """
    coming = list(_orders(showroom).filter(state__in=COMING).prefetch_related("supplier__closures"))
    lines = lines_of(coming)
    settled = settled_packs(line for rows in lines.values() for line in rows)
    leads = seen_leads(showroom) if coming else {}
    last = _last_receipts(coming)
    found: dict[int, list[OnOrder]] = defaultdict(list)
    for order in coming:
        for line in lines.get(order.pk, []):
            packs = outstanding(line, settled.get(line.pk, 0))
            if not packs or (item_ids is not None and line.item_id not in item_ids):
                continue
            first, until = _expected(order, line, leads, last.get(order.pk), at)
            found[line.item_id].append(
                OnOrder(
                    base=packs * line.pack_base,
                    expected_from=first,
                    expected_to=until,
                    order_number=order.number,
                    packs=packs,
                    pack_base=line.pack_base,
                )
            )
    return {key: sorted(rows, key=_soonest) for key, rows in found.items()}


def expected_of(
    orders: Iterable[PurchaseOrder], at: datetime
) -> dict[int, tuple[date, date | None]]:
    """Order id -> delivery days between which what is still to come of it is expected; drafts and
    closed ones are left out. Three queries; the closures of the suppliers should be prefetched.
    """
    coming = [order for order in orders if order.state in COMING]
    if not coming:
        return {}
    leads = seen_leads(coming[0].showroom, {order.supplier_id for order in coming})
    last = _last_receipts(coming)
    return {o.pk: _expected(o, None, leads, last.get(o.pk), at) for o in coming}


def _expected(
    order: PurchaseOrder,
    line: OrderLine | None,
    leads: dict[int, tuple[float, ...]],
    last: datetime | None,
    at: datetime | None,
) -> tuple[date, date | None]:
    showroom, supplier = order.showroom, order.supplier
    sent_at = order.sent_at or order.made_at
    late = supplier.cut_off_at is not None and (
        sent_at.astimezone(showroom.tz).time() > supplier.cut_off_at
    )
    who = delivering(
        supplier,
        leads.get(order.supplier_id, ()),
        living=line is not None and line.item.is_living,
        past_cut_off=late and last is None,
    )
    since = day_of(showroom, last or sent_at)
    first, until = window(who, since, EXPECTED_CHANCES)
    if last is not None:
        first = next_van(who, since) or first
    if order.wanted_on is not None and order.wanted_on > first:
        first = next_van(who, since, least=order.wanted_on) or first
        until = max(first, until)
    if at is None:
        return first, until
    today = day_of(showroom, at)
    if until < today:
        return next_van(who, today) or today, None
    return max(first, today), until


def _last_receipts(orders: Iterable[PurchaseOrder]) -> dict[int, datetime]:
    rows = GoodsReceipt.objects.standing().filter(order__in=[order.pk for order in orders])
    found: dict[int, datetime] = {}
    for order_id, moment in rows.order_by("done_at_corrected").values_list(
        "order_id", "done_at_corrected"
    ):
        found[order_id] = moment
    return found


def _soonest(row: OnOrder) -> tuple[date, int]:
    return row.expected_from, row.order_number


# --- what it costs ------------------------------------------------------------------------------
def order_money(order: PurchaseOrder) -> OrderMoney:
    """What this order costs, by the prices on its lines."""
    currency = order.showroom.currency
    lines = lines_of([order]).get(order.pk, [])
    goods, unpriced = _goods(lines)
    carriage = carriage_cents(order, goods)
    month = day_of(order.showroom, order.sent_at or order.made_at).replace(day=1)
    budget = MonthBudget.objects.of(order.showroom).filter(month_on=month).first()
    return OrderMoney(
        goods=Money(goods, currency),
        carriage=Money(carriage, currency),
        smallest=Money(order.supplier.min_order_cents, currency),
        to_pay=Money(goods + carriage, currency),
        budget=Money(budget.amount_cents, currency) if budget is not None else None,
        spent=Money(_spent_cents(order.showroom, month, order), currency),
        unpriced=unpriced,
    )


def carriage_cents(order: PurchaseOrder, goods_cents: int) -> int:
    """Carriage of an order with goods of so much: as written on it, else by the supplier's rule."""
    if order.carriage_cents is not None:
        return int(order.carriage_cents)
    return usual_carriage(order.supplier, goods_cents)


def usual_carriage(supplier: Supplier, goods_cents: int) -> int:
    """Carriage by the supplier's rule; nothing for nothing."""
    free_from = supplier.carriage_free_from_cents
    if not goods_cents or (free_from is not None and goods_cents >= free_from):
        return 0
    return int(supplier.carriage_cents)


def to_pay_of(orders: Iterable[PurchaseOrder]) -> dict[int, Money]:
    """Order id -> goods and carriage of it; one query."""
    rows = list(orders)
    lines = lines_of(rows)
    found = {}
    for order in rows:
        goods, _unpriced = _goods(lines.get(order.pk, []))
        cents = goods + carriage_cents(order, goods)
        found[order.pk] = Money(cents, order.showroom.currency)
    return found


def _goods(lines: Iterable[OrderLine]) -> tuple[int, int]:
    wanted = [line for line in lines if line.packs > line.not_wanted_packs]
    cents = sum((line.packs - line.not_wanted_packs) * (line.price_cents or 0) for line in wanted)
    return cents, sum(line.price_cents is None for line in wanted)


def _spent_cents(showroom: Showroom, month: date, without: PurchaseOrder) -> int:
    sent = [
        order
        for order in _orders(showroom).filter(sent_at__isnull=False).exclude(pk=without.pk)
        if order.sent_at is not None and day_of(showroom, order.sent_at).replace(day=1) == month
    ]
    return sum(money.cents for money in to_pay_of(sent).values())


# --- the letter ---------------------------------------------------------------------------------
def order_text(order: PurchaseOrder) -> str:
    """The order as a letter, to be copied, mailed or printed."""
    lines = [
        line for line in lines_of([order]).get(order.pk, []) if line.packs > line.not_wanted_packs
    ]
    return letter_text(
        order.supplier,
        [(line.item, line.pack_base, line.packs - line.not_wanted_packs) for line in lines],
        wanted_on=order.wanted_on,
        note=order.note,
        sign=f"Order {order}",
    )


def letter_text(
    supplier: Supplier,
    packs: Iterable[tuple[Item, int, int]],
    *,
    wanted_on: date | None = None,
    note: str = "",
    sign: str = "",
    kinds: Mapping[PackKey, Vessel] | None = None,
) -> str:
    """A letter for so many packs of items, also before there is an order.

    Parameters
    ----------
    packs : item, base units in a pack, how many
    sign : stands after the name of the gallery
    kinds : what each comes in, where that is known already
    """
    showroom, asked = supplier.showroom, list(packs)
    known = vessels(showroom, [(item, base) for item, base, _ in asked]) if kinds is None else kinds
    parts = ["Good morning,", f"please send {_van(wanted_on)}:"]
    listed = []
    for item, base, number in asked:
        kind = known[item.pk, base].kind
        pack = pack_words(item, base, 1, kind, showroom.decimal_mark, bare=True)
        listed.append(f"{number} × {item.name}, {pack}")
    parts.append("\n".join(listed))
    parts.append(note.strip() or "If something is short, send the rest.")
    if supplier.our_number:
        parts.append(f"You know us as {supplier.our_number}.")
    where = f"{showroom.name}, {showroom.place}" if showroom.place else showroom.name
    parts.append(f"{where}. {sign}".strip())
    return "\n\n".join(parts)


def _van(wanted_on: date | None) -> str:
    if wanted_on is None:
        return "with your next van"
    return (
        f"with the van of {LETTER_DAYS[wanted_on.weekday()]} {wanted_on:%-d %B}, "
        "or the next one you can"
    )


def _orders(showroom: Showroom) -> QuerySet[PurchaseOrder]:
    rows: QuerySet[PurchaseOrder] = (
        PurchaseOrder.objects.of(showroom)
        .filter(voided_at=None)
        .select_related("supplier", "showroom", "made_by", "sent_by")
    )
    return rows
