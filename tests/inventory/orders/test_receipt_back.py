"""A van taken back as a whole, and one that came without an order."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused
from gallery_ops.kernel.models import AuditEntry
from gallery_ops.kernel.values.quantity import Mass, Pieces, Volume
from inventory.models import (
    Container,
    Deposit,
    GoodsReceipt,
    Item,
    Movement,
    OrderState,
    PurchaseOrder,
    ReceiptLine,
    Supplier,
)
from inventory.queries.levels import balance_base
from inventory.queries.orders import lines_of, on_order
from inventory.queries.suppliers import seen_leads
from inventory.services.containers import open_container
from inventory.services.cylinders import NewCylinder
from inventory.services.loose_receipts import LooseCame, receive_unordered
from inventory.services.receipt_back import take_back_receipt
from inventory.services.receipts import Came, CameCylinder, receive_goods
from inventory.services.suppliers import note_deposit
from inventory.services.weighing import record_weighing
from tests.builders.gallery import AT, a_person, a_showroom, an_owner
from tests.builders.orders import a_pack, a_supplier, an_order
from tests.builders.stock import a_cylinder, a_fertiliser, a_food, a_gas, a_scale

pytestmark = pytest.mark.django_db

CAN, TUB = Volume.l(5), Mass.g(100)
SENT = AT - timedelta(days=6)
LATER = AT + timedelta(hours=2)


@pytest.fixture
def trade() -> Supplier:
    return a_supplier(a_showroom(), claim_hours=24)


@pytest.fixture
def fertiliser(trade: Supplier) -> Item:
    item = a_fertiliser(trade.showroom, name="Complete fertiliser")
    a_pack(trade, item, CAN, at=SENT, price_cents=3140)
    return item


@pytest.fixture
def food(trade: Supplier) -> Item:
    item = a_food(trade.showroom, name="Fine granules")
    a_pack(trade, item, TUB, at=SENT)
    return item


@pytest.fixture
def came(trade: Supplier, fertiliser: Item, food: Item) -> tuple[PurchaseOrder, GoodsReceipt]:
    """Two cans and one of three tubs, one can broken; what is left stays to come."""
    order = an_order(trade, (fertiliser, CAN, 2), (food, TUB, 3), at=SENT)
    cans, tubs = lines_of([order])[order.pk]
    receipt = receive_goods(
        order=order,
        came=[Came(cans, whole=1, broken=1), Came(tubs, whole=1, stays=True)],
        by=an_owner(trade.showroom),
        at=AT,
    )
    return order, receipt


def state(order: PurchaseOrder) -> str:
    return str(PurchaseOrder.objects.get(pk=order.pk).state)


def test_everything_that_a_van_booked_is_undone_and_its_order_is_open_again(
    came: tuple[PurchaseOrder, GoodsReceipt], trade: Supplier, fertiliser: Item
) -> None:
    order, receipt = came
    owner = an_owner(trade.showroom)
    assert seen_leads(trade.showroom, [trade.pk])
    moved = Movement.objects.count()
    back = take_back_receipt(receipt=receipt, reason="of another order", by=owner, at=LATER)
    assert take_back_receipt(receipt=receipt, reason="again", by=owner, at=LATER) == back
    assert state(order) == OrderState.SENT
    coming = {line.packs for line in on_order(trade.showroom)[fertiliser.pk]}
    assert coming == {2}, "the broken can is to come again too"
    assert list(ReceiptLine.objects.standing()) == []
    assert list(GoodsReceipt.objects.standing()) == []
    containers = list(Container.objects.filter(item__in=[fertiliser]))
    assert [balance_base(one) for one in containers] == [0]
    assert all(one.voided_at == LATER for one in containers)
    # nothing was rewritten: each movement stands beside the one that undoes it
    assert Movement.objects.count() == 2 * moved
    assert not seen_leads(trade.showroom, [trade.pk])
    assert AuditEntry.objects.filter(deed="receipt.taken_back").get().reason == "of another order"
    # and the right van can be written down now
    cans, tubs = lines_of([order])[order.pk]
    receive_goods(order=order, came=[Came(cans, whole=2), Came(tubs, whole=3)], by=owner, at=LATER)
    assert state(order) == OrderState.CLOSED


@pytest.mark.parametrize("how", ["opened", "weighed"])
def test_a_van_of_which_something_was_used_is_not_taken_back(
    came: tuple[PurchaseOrder, GoodsReceipt], trade: Supplier, food: Item, how: str
) -> None:
    order, receipt = came
    owner = an_owner(trade.showroom)
    tub = Container.objects.get(item=food)
    if how == "opened":
        open_container(container=tub, by=owner, at=AT)
    else:
        tub.tare_mg = 20_000
        tub.save()
        record_weighing(
            container=tub, gross=Mass.g(110), scale=a_scale(trade.showroom), by=owner, at=AT
        )
    with pytest.raises(Refused) as no:
        take_back_receipt(receipt=receipt, reason="slip", by=owner, at=LATER)
    assert no.value.code == "used"
    assert f"Fine granules {tub.code}" in no.value.sentence
    assert state(order) == OrderState.PART_RECEIVED
    assert not Container.objects.exclude(voided_at=None).exists()


def test_a_reason_and_the_right_are_needed(
    came: tuple[PurchaseOrder, GoodsReceipt], trade: Supplier
) -> None:
    _order, receipt = came
    with pytest.raises(Refused) as no:
        take_back_receipt(receipt=receipt, reason=" ", by=an_owner(trade.showroom), at=LATER)
    assert list(no.value.fields) == ["reason"]
    carer = a_person("carer", showroom=trade.showroom)
    with pytest.raises(Forbidden):
        take_back_receipt(receipt=receipt, reason="slip", by=carer, at=LATER)


def test_a_cylinder_that_went_back_with_the_van_is_here_again_with_its_deposit(
    trade: Supplier,
) -> None:
    gas, owner = a_gas(trade.showroom, name="CO2"), an_owner(trade.showroom)
    a_pack(trade, gas, Mass.g(500), at=SENT, how="exchange", deposit_cents=4000)
    order = an_order(trade, (gas, Mass.g(500), 1), at=SENT)
    (line,) = lines_of([order])[order.pk]
    old = a_cylinder(gas, at=SENT)
    new = NewCylinder("QG-1", Mass.g(1350), Mass.g(500))
    receipt = receive_goods(
        order=order, came=[Came(line, whole=1, cylinders=(CameCylinder(new, old),))], by=owner,
        at=AT,
    )  # fmt: skip
    assert Deposit.objects.count() == 2
    take_back_receipt(receipt=receipt, reason="slip", by=owner, at=LATER)
    old.refresh_from_db()
    assert (old.finished_on, balance_base(old)) == (None, 500_000)
    assert list(Deposit.objects.standing()) == []
    assert sum(Deposit.objects.values_list("amount_cents", flat=True)) == 0
    assert Container.objects.get(cylinder__serial="QG-1").voided_at == LATER


def test_the_deposit_that_comes_back_is_that_of_the_old_cylinder(trade: Supplier) -> None:
    gas = a_gas(trade.showroom, name="CO2")
    a_pack(trade, gas, Mass.g(500), at=SENT, how="exchange", deposit_cents=4000)
    order = an_order(trade, (gas, Mass.g(500), 2), at=SENT)
    (line,) = lines_of([order])[order.pk]
    a_pack(trade, line.item, Mass.kg(2), at=SENT, how="exchange", deposit_cents=9000)
    by = an_owner(trade.showroom)
    large = a_cylinder(line.item, fill=Mass.kg(2), at=SENT)
    noted = a_cylinder(line.item, fill=Mass.kg(2), at=SENT)
    note_deposit(supplier=trade, amount_cents=7500, reason="left", container=noted, by=by, at=SENT)
    read_off = [
        CameCylinder(NewCylinder(serial, Mass.g(1350), Mass.g(500)), old)
        for serial, old in (("QG-1", large), ("QG-2", noted))
    ]
    receive_goods(order=order, came=[Came(line, whole=2, cylinders=tuple(read_off))], by=by, at=AT)
    back = Deposit.objects.filter(reason="deposit back").order_by("pk")
    # by its own fill where nobody noted it, else what was left for it; never by the new one's
    assert list(back.values_list("container", "amount_cents")) == [
        (large.pk, -9000),
        (noted.pk, -7500),
    ]


# --- without an order ----------------------------------------------------------------------------
def test_what_nobody_ordered_becomes_stock_and_teaches_no_lead_time(
    trade: Supplier, fertiliser: Item, food: Item
) -> None:
    owner, this = an_owner(trade.showroom), uuid4()
    rows = [LooseCame(fertiliser, CAN, 2, "L-77"), LooseCame(food, TUB, 1)]
    receipt = receive_unordered(supplier=trade, came=rows, by=owner, at=AT, action_id=this)
    again = receive_unordered(supplier=trade, came=rows, by=owner, at=AT, action_id=this)
    assert again == receipt
    assert receipt.order is None
    assert Container.objects.filter(item=fertiliser, lot__maker_lot="L-77").count() == 2
    first = receipt.lines.order_by("pk").first()
    assert first is not None
    assert (first.packs_came, first.price_cents, first.line) == (2, 3140, None)
    assert not seen_leads(trade.showroom, [trade.pk])
    take_back_receipt(receipt=receipt, reason="went back at once", by=owner, at=LATER)
    assert not Container.objects.filter(voided_at=None).exists()


def test_nothing_too_many_and_a_cylinder_are_refused(trade: Supplier, food: Item) -> None:
    owner = an_owner(trade.showroom)
    gas = a_gas(trade.showroom)
    for rows, code in (
        ([], "nothing_came"),
        ([LooseCame(food, TUB, 0)], "out_of_range"),
        ([LooseCame(food, TUB, 10_001)], "out_of_range"),
        ([LooseCame(gas, Mass.kg(2), 1)], "a_cylinder"),
        ([LooseCame(food, Pieces(1), 1)], "wrong_dimension"),
    ):
        with pytest.raises(Refused) as no:
            receive_unordered(supplier=trade, came=rows, by=owner, at=AT)
        if code != "wrong_dimension":
            assert no.value.code == code
    assert not GoodsReceipt.objects.exists()
