"""A van came: parts, substitutes, broken ones, cylinders; once, and all or nothing."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.values.quantity import Mass, Pieces, Volume
from inventory.models import (
    Container,
    Deposit,
    GoodsReceipt,
    Item,
    Lot,
    Movement,
    OrderLine,
    OrderState,
    PurchaseOrder,
    ReceiptLine,
    Supplier,
)
from inventory.queries.levels import balance_base
from inventory.queries.orders import lines_of, on_order
from inventory.queries.suppliers import lead_known, seen_leads
from inventory.services.cylinders import NewCylinder
from inventory.services.items import add_item
from inventory.services.receipts import Came, CameCylinder, Instead, receive_goods
from tests.builders.gallery import AT, a_person, a_planted_tank, a_showroom, an_owner
from tests.builders.orders import a_draft, a_line, a_pack, a_supplier, an_order
from tests.builders.stock import a_cylinder, a_fertiliser, a_food, a_gas
from tests.built_once import built_once

pytestmark = pytest.mark.django_db

CAN = Volume.l(5)
TUB = Mass.g(100)
BIG_TUB = Mass.g(250)
PIECE = Pieces(1)
BOX = Pieces(30)
THIS = UUID("019590a1-0000-7000-8000-000000000001")
THAT = UUID("019590a1-0000-7000-8000-000000000002")
SENT = datetime(2026, 3, 3, 9, tzinfo=UTC)


def _pieces(trade: Supplier, code: str) -> Item:
    return add_item(
        showroom=trade.showroom,
        code=code,
        name=code.replace("-", " ").capitalize(),
        kind="other",
        dimension="piece",
        by=an_owner(trade.showroom),
        at=SENT,
    )


def an_order_of_four() -> PurchaseOrder:
    """6 air stones, 3 boxes of 30 root tabs, 2 tubs of 100 g, 2 cans of 5 L."""
    trade = a_supplier(a_showroom(), stated_lead_days=7, claim_hours=24)
    stones, tabs = _pieces(trade, "air-stones"), _pieces(trade, "root-tabs")
    food = a_food(trade.showroom, name="Fine granules", opened_life_days=28)
    fertiliser = a_fertiliser(trade.showroom, name="Complete fertiliser")
    for item, pack in ((stones, PIECE), (tabs, BOX), (food, TUB), (food, BIG_TUB)):
        a_pack(trade, item, pack, at=SENT)
    a_pack(trade, fertiliser, CAN, at=SENT)
    return an_order(
        trade, (stones, PIECE, 6), (tabs, BOX, 3), (food, TUB, 2), (fertiliser, CAN, 2), at=SENT
    )


built, order = built_once(an_order_of_four)


@pytest.fixture
def trade(order: PurchaseOrder) -> Supplier:
    return order.supplier


def _lines(order: PurchaseOrder) -> list[OrderLine]:
    return lines_of([order])[order.pk]


def _receive(order: PurchaseOrder, *came: Came, at: datetime = AT, **more: object) -> GoodsReceipt:
    return receive_goods(order=order, came=came, by=an_owner(order.showroom), at=at, **more)


def _state(order: PurchaseOrder) -> str:
    return str(PurchaseOrder.objects.get(pk=order.pk).state)


def _stock(item: Item) -> int:
    return sum(balance_base(row) for row in Container.objects.filter(item=item))


def test_an_order_is_received_in_two_parts_with_a_substitute_and_a_broken_one(
    order: PurchaseOrder,
) -> None:
    stones, tabs, tubs, cans = _lines(order)
    first = _receive(
        order,
        Came(stones, whole=5, broken=1),
        Came(tabs, whole=2, maker_lot="88214", stays=True),
        Came(
            tubs,
            instead=Instead(tubs.item, BIG_TUB, packs=1, settles_packs=2, keep=True),
            maker_lot="0126",
            expires_on=date(2026, 11, 30),
        ),
        action_id=THIS,
    )
    assert _state(order) == OrderState.PART_RECEIVED
    assert {key: rows[0].packs for key, rows in on_order(order.showroom).items()} == {
        tabs.item_id: 1,
        cans.item_id: 2,
    }
    assert [_stock(line.item) for line in (stones, tabs, tubs, cans)] == [5, 60, 250_000, 0]
    assert [c.kind for c in Container.objects.filter(item=stones.item)] == ["box"]
    assert Container.objects.filter(item=tabs.item).count() == 2
    lot = Lot.objects.get(item=tubs.item)
    assert (lot.maker_lot, lot.expires_on, lot.supplier_id) == (
        "0126",
        date(2026, 11, 30),
        order.supplier_id,
    )
    linked = ReceiptLine.objects.get(receipt=first, item=tubs.item)
    assert (linked.line_id, linked.pack_base, linked.counts_for_packs, linked.lot_id) == (
        tubs.pk,
        250_000,
        2,
        lot.pk,
    )
    broken = ReceiptLine.objects.get(receipt=first, line=stones)
    assert (broken.packs_came, broken.packs_broken) == (6, 1)
    assert broken.claim_until == AT + timedelta(hours=24)

    later = AT + timedelta(days=8)
    _receive(order, Came(tabs, whole=1), Came(cans, whole=2), at=later, action_id=THAT)
    closed = PurchaseOrder.objects.get(pk=order.pk)
    assert (closed.state, closed.closed_at) == (OrderState.CLOSED, later)
    assert [_stock(line.item) for line in (tabs, cans)] == [90, 10_000_000]
    assert on_order(order.showroom) == {}


def test_the_same_receipt_again_books_nothing(order: PurchaseOrder) -> None:
    stones, tabs, *_rest = _lines(order)
    came = (Came(stones, whole=6), Came(tabs, whole=3))
    first = _receive(order, *came, action_id=THIS)
    again = _receive(order, *came, action_id=THIS, at=AT + timedelta(minutes=1))
    assert again.pk == first.pk
    assert (_stock(stones.item), _stock(tabs.item)) == (6, 90)
    assert GoodsReceipt.objects.count() == 1


def test_two_packs_of_one_item_in_one_receipt_are_both_booked(order: PurchaseOrder) -> None:
    tubs = _lines(order)[2]
    other = Instead(tubs.item, BIG_TUB, packs=1, settles_packs=1, keep=True)
    _receive(order, Came(tubs, whole=1, instead=other), action_id=THIS)
    assert _stock(tubs.item) == 350_000
    assert Lot.objects.filter(item=tubs.item).count() == 2


def test_a_substitute_that_goes_back_is_not_booked_and_stays_to_come(order: PurchaseOrder) -> None:
    tubs = _lines(order)[2]
    other = Instead(tubs.item, BIG_TUB, packs=1, settles_packs=2, keep=False)
    receipt = _receive(order, Came(tubs, instead=other))
    row = ReceiptLine.objects.get(receipt=receipt)
    assert (row.is_kept, row.counts_for_packs, row.lot) == (False, 0, None)
    assert _stock(tubs.item) == 0
    assert on_order(order.showroom)[tubs.item_id][0].packs == 2


def test_a_tub_too_large_is_split_at_once(order: PurchaseOrder) -> None:
    tubs = _lines(order)[2]
    other = Instead(tubs.item, BIG_TUB, packs=1, settles_packs=2, keep=True, sealed=Mass.g(110))
    _receive(order, Came(tubs, instead=other))
    held = sorted(balance_base(row) for row in Container.objects.filter(item=tubs.item))
    assert held == [110_000, 140_000]


def test_broken_ones_that_come_again_stay_on_order(order: PurchaseOrder) -> None:
    stones = _lines(order)[0]
    _receive(order, Came(stones, whole=5, broken=1, broken_again=True, stays=True))
    assert on_order(order.showroom)[stones.item_id][0].packs == 1


def test_what_is_not_wanted_any_more_is_not_to_come(order: PurchaseOrder) -> None:
    tabs = _lines(order)[1]
    _receive(order, Came(tabs, whole=2, stays=False))
    assert tabs.item_id not in on_order(order.showroom)
    assert OrderLine.objects.get(pk=tabs.pk).not_wanted_packs == 1
    assert _state(order) == OrderState.PART_RECEIVED


def test_a_carer_receives_but_does_not_say_that_something_is_not_wanted(
    order: PurchaseOrder,
) -> None:
    carer = a_person(showroom=order.showroom)
    tabs = _lines(order)[1]
    with pytest.raises(Forbidden):
        receive_goods(order=order, came=[Came(tabs, whole=2, stays=False)], by=carer, at=AT)
    assert _stock(tabs.item) == 0
    receive_goods(order=order, came=[Came(tabs, whole=2, stays=True)], by=carer, at=AT)
    assert _stock(tabs.item) == 60


def test_a_new_pack_is_taken_for_what_the_last_one_of_its_size_was(order: PurchaseOrder) -> None:
    cans = _lines(order)[3]
    _receive(order, Came(cans, whole=1, stays=True))
    first = Container.objects.get(item=cans.item)
    first.tare_mg, first.unusable_base, first.kind = 210_000, 20_000, "bottle"
    first.save()
    _receive(order, Came(cans, whole=1))
    second = Container.objects.filter(item=cans.item).latest("pk")
    assert (second.kind, second.tare_mg, second.unusable_base) == ("bottle", 210_000, 20_000)


# --- gas ----------------------------------------------------------------------------------------
def _gas_order(trade: Supplier, how: str = "exchange") -> PurchaseOrder:
    gas = a_gas(trade.showroom, name="CO2")
    a_pack(trade, gas, Mass.g(500), at=SENT, how=how, deposit_cents=4000)
    return an_order(trade, (gas, Mass.g(500), 2), at=SENT)


def _read_off(serial: str, back: Container | None = None) -> CameCylinder:
    new = NewCylinder(serial, Mass.g(1350), Mass.g(500), tested_on=date(2024, 5, 1))
    return CameCylinder(new, back)


def test_cylinders_come_with_serial_and_deposit_and_the_old_one_goes_back(trade: Supplier) -> None:
    order = _gas_order(trade)
    (line,) = _lines(order)
    old = a_cylinder(line.item, at=SENT)
    spare = a_cylinder(line.item, at=SENT)
    _receive(
        order,
        Came(line, whole=2, cylinders=(_read_off("QG-1", old), _read_off("QG-2", spare))),
        action_id=THIS,
    )
    first, second = Container.objects.filter(cylinder__serial__startswith="QG").order_by("pk")
    assert [balance_base(row) for row in (first, second, old, spare)] == [500_000, 500_000, 0, 0]
    assert list(Deposit.objects.order_by("pk").values_list("amount_cents", flat=True)) == [
        4000,
        -4000,
        4000,
        -4000,
    ]
    assert set(Container.objects.filter(finished_on__isnull=False)) == {old, spare}
    assert list(
        ReceiptLine.objects.order_by("pk").values_list("packs_came", "counts_for_packs")
    ) == [(1, 1), (1, 1)]
    assert _state(order) == OrderState.CLOSED


def test_a_cylinder_that_still_feeds_a_tank_does_not_go_back_by_a_receipt(trade: Supplier) -> None:
    order = _gas_order(trade)
    (line,) = _lines(order)
    old = a_cylinder(line.item, tank=a_planted_tank(showroom=trade.showroom), at=SENT)
    with pytest.raises(Refused) as no:
        _receive(order, Came(line, whole=1, cylinders=(_read_off("QG-1", old),), stays=True))
    assert no.value.code == "feeds_a_tank"
    assert list(no.value.fields) == [f"cylinder_1:{line.uid}"]
    assert old.supplies.still().exists()
    assert not GoodsReceipt.objects.exists()


def test_one_cylinder_without_a_serial_leaves_everything_unbooked(trade: Supplier) -> None:
    order = _gas_order(trade)
    (line,) = _lines(order)
    with pytest.raises(Refused) as no:
        _receive(order, Came(line, whole=2, cylinders=(_read_off("QG-1"), _read_off(" "))))
    assert list(no.value.fields) == [f"cylinder_2:{line.uid}"]
    assert not Movement.objects.filter(item=line.item).exists()
    assert not GoodsReceipt.objects.exists()
    assert _state(order) == OrderState.SENT


def test_a_refilled_cylinder_is_counted_here_and_booked_at_its_own_entry(trade: Supplier) -> None:
    order = _gas_order(trade, how="refill")
    (line,) = _lines(order)
    _receive(order, Came(line, whole=2))
    assert not Movement.objects.filter(item=line.item).exists()
    assert _state(order) == OrderState.CLOSED


# --- lead time ----------------------------------------------------------------------------------
def test_the_first_van_of_an_order_teaches_the_lead_time(order: PurchaseOrder) -> None:
    tabs = _lines(order)[1]
    _receive(order, Came(tabs, whole=1, stays=True))
    _receive(order, Came(tabs, whole=1, stays=True), at=AT + timedelta(days=8))
    assert seen_leads(order.showroom) == {order.supplier_id: (9.0,)}


def test_a_lead_time_is_learned_from_the_stated_prior() -> None:
    """Location (2 log 7 + n mean) / (2 + n), worked by hand for n = 2: (7 * 7 * 9 * 9) ** (1/4)."""
    supplier = Supplier(stated_lead_days=7)
    assert lead_known(supplier).median_days == pytest.approx(7)
    learned = lead_known(supplier, (9.0, 9.0))
    assert learned.median_days == pytest.approx((7 * 7 * 9 * 9) ** 0.25)
    assert (learned.n, learned.low_days < 8 < learned.high_days) == (2, True)


# --- refused ------------------------------------------------------------------------------------
def _other(line: OrderLine, **changes: object) -> Instead:
    fields = {"item": line.item, "pack": BIG_TUB, "packs": 1, "settles_packs": 2, "keep": True}
    return Instead(**{**fields, **changes})


BAD: dict[str, Callable[[list[OrderLine]], tuple[Came, ...]]] = {
    "nothing": lambda _lines: (),
    "twice": lambda lines: (Came(lines[0], whole=1), Came(lines[0], whole=1)),
    "negative": lambda lines: (Came(lines[0], whole=-1),),
    "too_many": lambda lines: (Came(lines[0], whole=10_001),),
    "more": lambda lines: (Came(lines[0], whole=7),),
    "rest": lambda lines: (Came(lines[0], whole=2),),
    "same_instead": lambda lines: (Came(lines[2], instead=_other(lines[2], pack=TUB)),),
    "no_packs": lambda lines: (Came(lines[2], instead=_other(lines[2], packs=0)),),
    "for_too_many": lambda lines: (Came(lines[2], instead=_other(lines[2], settles_packs=3)),),
    "sealed": lambda lines: (Came(lines[2], instead=_other(lines[2], sealed=BIG_TUB)),),
    "other_unit": lambda lines: (Came(lines[2], instead=_other(lines[2], pack=CAN)),),
    "long_lot": lambda lines: (Came(lines[1], whole=3, maker_lot="x" * 61),),
}


@pytest.mark.parametrize(
    ("bad", "sentence", "field"),
    [
        ("nothing", "Nothing was written down yet", "came"),
        ("twice", "written down twice", "came"),
        ("negative", "Air stones: -1 is not allowed", "came:"),
        ("too_many", "Air stones: 10001 is not allowed", "came:"),
        ("more", "Air stones: 7 came, 6 were to come", "more:"),
        ("rest", "Air stones: 4 still to come: does it stay on order?", "rest:"),
        ("same_instead", "this is what was ordered", "instead:"),
        ("no_packs", "how many came instead?", "instead_packs:"),
        ("for_too_many", "it cannot stand for 3 of the 2 left", "instead_for:"),
        ("sealed", "more than a pack holds", "sealed:"),
        ("other_unit", "is counted as a mass in g or kg", "pack"),
        ("long_lot", "at most 60 characters", "lot:"),
    ],
)
def test_what_cannot_be_is_refused_with_its_field_and_nothing_is_booked(
    bad: str, sentence: str, field: str, order: PurchaseOrder
) -> None:
    with pytest.raises(Refused) as no:
        _receive(order, *BAD[bad](_lines(order)))
    assert sentence in str(no.value)
    assert next(iter(no.value.fields)).startswith(field)
    assert not GoodsReceipt.objects.exists()
    assert not Movement.objects.exists()


def test_more_than_ordered_is_taken_when_it_is_said_to_be_right(order: PurchaseOrder) -> None:
    stones = _lines(order)[0]
    _receive(order, Came(stones, whole=7, more_is_right=True))
    assert _stock(stones.item) == 7
    assert ReceiptLine.objects.get(line=stones).counts_for_packs == 6


def test_neither_a_draft_nor_a_closed_order_is_received(order: PurchaseOrder) -> None:
    stones, tabs, tubs, cans = _lines(order)
    draft = a_draft(order.supplier)
    line = a_line(draft, stones.item, PIECE, 1)
    with pytest.raises(Refused, match="Say first that it is sent"):
        _receive(draft, Came(line, whole=1))
    _receive(order, *(Came(x, whole=x.packs) for x in (stones, tabs, tubs, cans)))
    with pytest.raises(Refused, match="nothing of it is to come"):
        _receive(order, Came(stones, whole=1))


def test_a_line_of_another_order_is_unknown(order: PurchaseOrder) -> None:
    stones = _lines(order)[0]
    other = an_order(order.supplier, (stones.item, PIECE, 1))
    with pytest.raises(Unknown):
        _receive(other, Came(stones, whole=1))


def test_a_strangers_cylinder_does_not_go_back(trade: Supplier) -> None:
    order = _gas_order(trade)
    (line,) = _lines(order)
    strange = a_cylinder(a_gas(a_showroom()))
    with pytest.raises(Unknown):
        _receive(order, Came(line, whole=1, cylinders=(_read_off("QG-1", strange),), stays=True))
