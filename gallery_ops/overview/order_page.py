"""One order as a page shows it: its lines as vessels, its letter, what came of it and when."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from uuid import UUID

from django.core.paginator import Page, Paginator
from django.db.models import prefetch_related_objects

from gallery_ops.drawing.pips import Pips, pips_svg
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.money import Money
from inventory.models import (
    GoodsReceipt,
    OrderLine,
    OrderState,
    PurchaseOrder,
    ReceiptLine,
    SupplierItem,
)
from inventory.queries.orders import (
    COMING,
    OrderMoney,
    expected_of,
    lines_of,
    order_money,
    order_of,
    order_text,
    orders,
    to_pay_of,
)
from inventory.queries.packs import Vessel, pack_words, vessels
from inventory.queries.suppliers import (
    LeadKnown,
    day_of,
    delivering,
    is_past_cut_off,
    lead_known,
    next_van,
    offers,
    seen_leads,
)
from tanks.models import Photo
from tanks.queries.photos import photos_of

PER_PAGE = 20
SHOWN_VANS = 8
Window = tuple[date, date | None]


# --- the list -----------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class OrderRow:
    """An order in a list."""

    order: PurchaseOrder
    to_pay: Money
    lines: int
    packs: int
    expected: Window | None


@dataclass(frozen=True, slots=True)
class OrderList:
    """What is drafted, what is to come, and page by page what is over."""

    drafts: list[OrderRow]
    coming: list[OrderRow]
    closed: list[OrderRow]
    page: Page[PurchaseOrder]


def order_list(showroom: Showroom, at: datetime, number: str = "1") -> OrderList:
    """All orders, the ones to come by the day on which they are expected."""
    is_open = [OrderState.DRAFT, *COMING]
    open_ones = list(orders(showroom, states=is_open).prefetch_related("supplier__closures"))
    page = Paginator(orders(showroom, states=[OrderState.CLOSED]), PER_PAGE).get_page(number)
    rows = _rows([*open_ones, *page.object_list], at)
    coming = [row for row in rows if row.expected is not None]
    return OrderList(
        drafts=[row for row in rows if row.order.state == OrderState.DRAFT],
        coming=sorted(coming, key=lambda row: (row.expected or (date.max,))[0]),
        closed=[row for row in rows if row.order.state == OrderState.CLOSED],
        page=page,
    )


def _rows(orders: list[PurchaseOrder], at: datetime) -> list[OrderRow]:
    lines, to_pay, windows = lines_of(orders), to_pay_of(orders), expected_of(orders, at)
    return [
        OrderRow(
            order=order,
            to_pay=to_pay[order.pk],
            lines=len(lines.get(order.pk, [])),
            packs=sum(line.packs for line in lines.get(order.pk, [])),
            expected=windows.get(order.pk),
        )
        for order in orders
    ]


# --- one order ----------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class LineView:
    """A line with what came of it, in packs."""

    line: OrderLine
    words: str
    """So many packs, as ordered."""
    cost: Money | None
    pips: Pips
    instead: list[str]
    vessel: Vessel

    @property
    def drawing(self) -> str:
        """Its vessels."""
        return pips_svg(self.pips)


@dataclass(frozen=True, slots=True)
class CameView:
    """One line of a receipt in words."""

    row: ReceiptLine
    words: str
    ordered: str
    """What it came for, when it came instead of it."""
    is_claim_open: bool
    claim_text: str
    place: int
    """Its number within the van, from 1; a picture of it is named after both."""
    photos: tuple[Photo, ...] = ()


@dataclass(frozen=True, slots=True)
class ReceiptView:
    """A van."""

    receipt: GoodsReceipt
    days: int
    came: list[CameView]

    def subject(self, place: int) -> str:
        """What a picture of one of its lines is called."""
        return photo_subject(self.receipt, place)


def photo_subject(receipt: GoodsReceipt, place: int) -> str:
    """What a picture of a line of a van is called."""
    return f"receipt:{receipt.uid}:{place}"


@dataclass(frozen=True, slots=True)
class OrderPage:
    """Everything that the page of an order shows."""

    order: PurchaseOrder
    lines: list[LineView]
    money: OrderMoney
    letter: str
    expected: Window | None
    lead: LeadKnown
    receipts: list[ReceiptView]
    vans: list[date] = field(default_factory=list)
    offers: list[SupplierItem] = field(default_factory=list)

    @property
    def to_come(self) -> int:
        """Packs still to come."""
        return sum(view.pips.to_come for view in self.lines)

    @property
    def subject(self) -> str:
        """What a mail with the letter is called."""
        return f"Order {self.order}, {self.order.showroom.name}"

    @property
    def missing(self) -> Money | None:
        """How much is missing to the smallest order that they take."""
        less = self.money.smallest - self.money.goods
        return less if less.cents > 0 else None


def order_page(showroom: Showroom, uid: UUID, at: datetime) -> OrderPage:
    """One order. Raises Unknown."""
    order = order_of(showroom, uid)
    prefetch_related_objects([order], "supplier__closures")
    lines = lines_of([order]).get(order.pk, [])
    came = _came_rows(lines)
    kinds = _kinds(showroom, lines, came)
    is_draft = order.state == OrderState.DRAFT
    seen = seen_leads(showroom, [order.supplier_id]).get(order.supplier_id, ())
    return OrderPage(
        order=order,
        lines=line_views(order, lines, came, kinds),
        money=order_money(order),
        letter=order_text(order),
        expected=expected_of([order], at).get(order.pk),
        lead=lead_known(order.supplier, seen),
        receipts=_receipts(order, kinds, at),
        vans=possible_vans(order, seen, at) if is_draft else [],
        offers=offers(showroom, [order.supplier_id]) if is_draft else [],
    )


def line_views(
    order: PurchaseOrder,
    lines: Iterable[OrderLine],
    came: dict[int, list[ReceiptLine]],
    kinds: dict[tuple[int, int], Vessel],
) -> list[LineView]:
    """The lines with what came of them."""
    mark, currency = order.showroom.decimal_mark, order.showroom.currency
    found = []
    for line in lines:
        vessel = kinds[line.item_id, line.pack_base]
        rows = came.get(line.pk, [])
        cents = line.price_cents
        found.append(
            LineView(
                line=line,
                words=pack_words(line.item, line.pack_base, line.packs, vessel.kind, mark),
                cost=Money(cents * line.packs, currency) if cents is not None else None,
                pips=_pips(line, rows),
                instead=[
                    said_pack(row, kinds, mark)
                    for row in rows
                    if is_other(row, line) and row.is_kept
                ],
                vessel=vessel,
            )
        )
    return found


def _pips(line: OrderLine, rows: list[ReceiptLine]) -> Pips:
    same = [row for row in rows if not is_other(row, line)]
    whole = sum(row.packs_came - row.packs_broken for row in same)
    settled = sum(row.counts_for_packs for row in rows)
    to_come = max(0, line.packs - line.not_wanted_packs - settled)
    return Pips(
        came=whole,
        broken=sum(row.packs_broken for row in same),
        instead=sum(row.counts_for_packs for row in rows if is_other(row, line)),
        to_come=to_come,
        not_wanted=line.not_wanted_packs,
    )


def is_other(row: ReceiptLine, line: OrderLine) -> bool:
    """Did this come instead of what had been ordered?"""
    return bool(row.item_id != line.item_id or row.pack_base != line.pack_base)


def said_pack(row: ReceiptLine, kinds: dict[tuple[int, int], Vessel], mark: str) -> str:
    """What came, in words; with its item."""
    kind = kinds[row.item_id, row.pack_base].kind
    return f"{row.item.name}, {pack_words(row.item, row.pack_base, row.packs_came, kind, mark)}"


def possible_vans(
    order: PurchaseOrder, seen: tuple[float, ...], at: datetime, shown: int = SHOWN_VANS
) -> list[date]:
    """The next days on which they deliver, from the day that an order of now likely reaches."""
    who = delivering(order.supplier, seen, past_cut_off=is_past_cut_off(order.supplier, at))
    day = day_of(order.showroom, at)
    found: list[date] = []
    while len(found) < shown:
        van = next_van(who, day)
        if van is None:
            break
        found.append(van)
        day = van
    if order.wanted_on is not None and order.wanted_on not in found:
        found = sorted([*found, order.wanted_on])
    return found


# --- what came ----------------------------------------------------------------------------------
def _came_rows(lines: Iterable[OrderLine]) -> dict[int, list[ReceiptLine]]:
    found: dict[int, list[ReceiptLine]] = defaultdict(list)
    rows = ReceiptLine.objects.standing().filter(line__in=[line.pk for line in lines])
    for row in rows.select_related("item").order_by("pk"):
        found[row.line_id or 0].append(row)
    return found


def _kinds(
    showroom: Showroom, lines: Iterable[OrderLine], came: dict[int, list[ReceiptLine]]
) -> dict[tuple[int, int], Vessel]:
    packs = [(line.item, line.pack_base) for line in lines]
    packs += [(row.item, row.pack_base) for rows in came.values() for row in rows]
    return vessels(showroom, packs)


def _receipts(
    order: PurchaseOrder, kinds: dict[tuple[int, int], Vessel], at: datetime
) -> list[ReceiptView]:
    found = (
        GoodsReceipt.objects.standing()
        .filter(order=order)
        .select_related("person")
        .prefetch_related("lines__item", "lines__line__item", "lines__lot")
        .order_by("done_at_corrected", "pk")
    )
    sent = day_of(order.showroom, order.sent_at or order.made_at)
    rows = list(found)
    photos = photos_of(
        order.showroom,
        [
            photo_subject(receipt, place)
            for receipt in rows
            for place, _line in enumerate(receipt.lines.all(), start=1)
        ],
    )
    return [
        ReceiptView(
            receipt=receipt,
            days=(day_of(order.showroom, receipt.done_at_corrected) - sent).days,
            came=[
                _came_view(
                    order, row, kinds, at, place, photos.get(photo_subject(receipt, place), [])
                )
                for place, row in enumerate(receipt.lines.all(), start=1)
            ],
        )
        for receipt in rows
    ]


def _came_view(
    order: PurchaseOrder,
    row: ReceiptLine,
    kinds: dict[tuple[int, int], Vessel],
    at: datetime,
    place: int,
    photos: list[Photo],
) -> CameView:
    mark = order.showroom.decimal_mark
    is_open = row.claim_until is not None and row.claim_until > at
    other = row.line if row.line is not None and is_other(row, row.line) else None
    return CameView(
        row=row,
        words=said_pack(row, kinds, mark),
        ordered=other.item.name if other is not None else "",
        is_claim_open=is_open,
        claim_text=claim_text(order, row, kinds, mark) if row.claim_until is not None else "",
        place=place,
        photos=tuple(photos),
    )


def claim_text(
    order: PurchaseOrder, row: ReceiptLine, kinds: dict[tuple[int, int], Vessel], mark: str
) -> str:
    """A letter that claims what came broken, or announces what goes back."""
    came = row.done_at_corrected.astimezone(order.showroom.tz)
    of_order = f"of our order {order} that came on {came:%-d %B} at {came:%H:%M}"
    kind = kinds[row.item_id, row.pack_base].kind
    if row.packs_broken:
        what = pack_words(row.item, row.pack_base, row.packs_broken, kind, mark)
        ask = "A picture goes with this. Please send them again or take them off the bill."
        body = f"{of_order}, this was broken: {row.item.name}, {what}. {ask}"
    else:
        what = pack_words(row.item, row.pack_base, row.packs_came, kind, mark)
        body = (
            f"{of_order}, this was not ordered and goes back with your next van: "
            f"{row.item.name}, {what}. Please send what was ordered."
        )
    where = f"{order.showroom.name}, {order.showroom.place}".rstrip(", ")
    return f"Good morning,\n\n{body}\n\n{where}. Order {order}"
