"""Orders from draft to closed: one draft, numbers used once, on order only when sent."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import AuditEntry
from gallery_ops.kernel.values.quantity import Mass, Pieces, Volume
from inventory.models import Item, OrderState, PurchaseOrder, Supplier, SupplierItem
from inventory.queries.keys import item_key
from inventory.queries.orders import lines_of, on_order, order_money, order_text
from inventory.services.order_lines import LineSaid, set_lines
from inventory.services.orders import (
    change_order,
    draft_order,
    drop_draft,
    remove_line,
    send_order,
    set_line,
)
from inventory.services.remainders import cancel_order, not_wanted
from inventory.services.suppliers import retire_pack
from tests.builders.gallery import AT, a_person, a_showroom, an_owner
from tests.builders.orders import a_draft, a_line, a_pack, a_supplier, an_order
from tests.builders.stock import a_fertiliser, a_food

pytestmark = pytest.mark.django_db

CAN = Volume.l(5)
TUB = Mass.g(100)


@pytest.fixture
def trade() -> Supplier:
    """Vans on Tuesday and Friday; closes for orders at 14:00."""
    return a_supplier(
        a_showroom(), delivery_weekdays="0100100", cut_off_at=time(14), stated_lead_days=7
    )


@pytest.fixture
def fertiliser(trade: Supplier) -> Item:
    item = a_fertiliser(trade.showroom, name="Complete fertiliser")
    a_pack(trade, item, CAN, price_cents=3140)
    return item


@pytest.fixture
def food(trade: Supplier) -> Item:
    item = a_food(trade.showroom, name="Fine granules")
    a_pack(trade, item, TUB, price_cents=840)
    return item


def test_a_supplier_has_one_open_draft(trade: Supplier) -> None:
    first, again = a_draft(trade), a_draft(trade)
    assert (first.pk, first.state) == (again.pk, OrderState.DRAFT)


def test_numbers_count_up_per_showroom_and_are_never_used_again(
    trade: Supplier, fertiliser: Item
) -> None:
    dropped = a_draft(trade)
    drop_draft(order=dropped, by=an_owner(trade.showroom), at=AT)
    sent = an_order(trade, (fertiliser, CAN, 1))
    elsewhere = a_draft(a_supplier(a_showroom()))
    after = a_draft(trade)
    assert [o.number for o in (dropped, sent, after, elsewhere)] == [1, 2, 3, 1]
    assert str(after) == "0003"


def test_the_same_pack_again_changes_its_number(trade: Supplier, fertiliser: Item) -> None:
    order = a_draft(trade)
    a_line(order, fertiliser, CAN, 1)
    a_line(order, fertiliser, CAN, 3)
    (line,) = lines_of([order])[order.pk]
    assert (line.packs, line.price_cents) == (3, 3140)


def test_the_form_of_a_draft_is_written_down_whole_or_not_at_all(
    trade: Supplier, fertiliser: Item, food: Item
) -> None:
    owner = an_owner(trade.showroom)
    order = a_draft(trade)
    first, second = a_line(order, fertiliser, CAN, 1), a_line(order, food, TUB, 1)
    offer = SupplierItem.objects.get(item=food)
    retire_pack(offer=offer, by=owner, at=AT)
    said = [LineSaid(first, 4), LineSaid(second, 2)]
    trail = AuditEntry.objects.count()
    with pytest.raises(Refused) as no:
        set_lines(order=order, lines=said, note="ring first", by=owner, at=AT)
    assert no.value.code == "not_sold"
    order.refresh_from_db()
    assert order.note == ""
    assert [line.packs for line in lines_of([order])[order.pk]] == [1, 1]
    assert AuditEntry.objects.count() == trail
    set_lines(
        order=order, lines=[LineSaid(first, 4), LineSaid(second, 0)], note="x", by=owner, at=AT
    )
    assert [line.packs for line in lines_of([order])[order.pk]] == [4]


def test_a_draft_is_not_on_order_and_a_sent_order_is(trade: Supplier, fertiliser: Item) -> None:
    order = a_draft(trade)
    a_line(order, fertiliser, CAN, 2)
    assert on_order(trade.showroom) == {}
    send_order(order=order, by=an_owner(trade.showroom), at=AT)
    (coming,) = on_order(trade.showroom)[fertiliser.pk]
    assert (coming.base, coming.packs, coming.order_number) == (10_000_000, 2, 1)
    assert on_order(trade.showroom, [fertiliser.pk + 1]) == {}


def test_it_is_expected_on_delivery_days_around_the_lead_time(
    trade: Supplier, fertiliser: Item
) -> None:
    an_order(trade, (fertiliser, CAN, 1))
    (coming,) = on_order(trade.showroom, at=AT)[fertiliser.pk]
    assert coming.expected_to is not None
    assert {coming.expected_from.weekday(), coming.expected_to.weekday()} <= {1, 4}
    assert coming.expected_from <= date(2026, 3, 20) <= coming.expected_to


def test_an_order_that_should_have_come_gets_no_invented_day(
    trade: Supplier, fertiliser: Item
) -> None:
    an_order(trade, (fertiliser, CAN, 1), at=AT - timedelta(days=80))
    (coming,) = on_order(trade.showroom, at=AT)[fertiliser.pk]
    assert (coming.expected_from, coming.expected_to) == (date(2026, 3, 13), None)


def test_an_order_that_asks_for_a_later_van_is_not_expected_before_it(
    trade: Supplier, fertiliser: Item
) -> None:
    order = a_draft(trade)
    a_line(order, fertiliser, CAN, 1)
    owner = an_owner(trade.showroom)
    change_order(order=order, wanted_on=date(2026, 4, 14), by=owner, at=AT)
    send_order(order=order, by=owner, at=AT)
    (coming,) = on_order(trade.showroom, at=AT)[fertiliser.pk]
    assert coming.expected_from == date(2026, 4, 14)


def test_sending_asks_for_the_forecast_and_the_orders_to_be_thought_of_again(
    trade: Supplier, fertiliser: Item, monkeypatch: pytest.MonkeyPatch
) -> None:
    order = a_draft(trade)
    a_line(order, fertiliser, CAN, 1)
    wanted: set[tuple[str, str]] = set()

    def want(_showroom: object, kind: str, subject: str = "", **_when: object) -> None:
        wanted.add((kind, subject))

    monkeypatch.setattr("inventory.services.wanting.want_work", want)
    monkeypatch.setattr("inventory.services.order_state.want_work", want)
    send_order(order=order, by=an_owner(trade.showroom), at=AT)
    assert wanted == {("forecast", item_key(fertiliser.pk)), ("reorder", "")}


def test_sending_twice_is_once(trade: Supplier, fertiliser: Item) -> None:
    order = an_order(trade, (fertiliser, CAN, 1))
    again = send_order(order=order, by=an_owner(trade.showroom), at=AT + timedelta(days=1))
    assert again.sent_at == AT
    assert AuditEntry.objects.filter(deed="order.sent").count() == 1


def test_a_line_can_be_taken_off_a_draft_and_put_back(trade: Supplier, fertiliser: Item) -> None:
    order = a_draft(trade)
    line = a_line(order, fertiliser, CAN, 1)
    remove_line(line=line, by=an_owner(trade.showroom), at=AT)
    remove_line(line=line, by=an_owner(trade.showroom), at=AT)
    assert lines_of([order]) == {}
    a_line(order, fertiliser, CAN, 2)
    assert [row.packs for row in lines_of([order])[order.pk]] == [2]


def test_what_is_not_wanted_closes_the_line_and_then_the_order(
    trade: Supplier, fertiliser: Item, food: Item
) -> None:
    order = an_order(trade, (fertiliser, CAN, 2), (food, TUB, 1))
    by = an_owner(trade.showroom)
    cans, tubs = lines_of([order])[order.pk]
    not_wanted(line=cans, packs=1, by=by, at=AT)
    assert on_order(trade.showroom)[fertiliser.pk][0].packs == 1
    not_wanted(line=cans, by=by, at=AT)
    assert PurchaseOrder.objects.get(pk=order.pk).state == OrderState.SENT
    not_wanted(line=tubs, by=by, at=AT)
    closed = PurchaseOrder.objects.get(pk=order.pk)
    assert (closed.state, closed.closed_at) == (OrderState.CLOSED, AT)
    assert on_order(trade.showroom) == {}


def test_cancelling_says_to_ring_them_first(trade: Supplier, fertiliser: Item) -> None:
    order = an_order(trade, (fertiliser, CAN, 2))
    by = an_owner(trade.showroom)
    with pytest.raises(Refused) as no:
        cancel_order(order=order, told=False, by=by, at=AT)
    assert (no.value.code, "Ring them" in no.value.remedy) == ("ring_them", True)
    closed = cancel_order(order=order, told=True, by=by, at=AT)
    assert closed.state == OrderState.CLOSED


def _refused(deed: str, trade: Supplier, item: Item) -> Refused:
    by = an_owner(trade.showroom)
    sent = an_order(trade, (item, CAN, 1))
    draft = a_draft(trade)
    line = a_line(draft, item, CAN, 1)
    sent_line = lines_of([sent])[sent.pk][0]
    deeds = {
        "line_of_sent": lambda: a_line(sent, item, CAN, 2),
        "remove_of_sent": lambda: remove_line(line=sent_line, by=by, at=AT),
        "drop_sent": lambda: drop_draft(order=sent, by=by, at=AT),
        "strange_pack": lambda: a_line(draft, item, Volume.l(3), 1),
        "other_dimension": lambda: a_line(draft, item, Pieces(3), 1),
        "no_packs": lambda: a_line(draft, item, CAN, 0),
        "too_many": lambda: a_line(draft, item, CAN, 10_001),
        "unsent_remainder": lambda: not_wanted(line=line, by=by, at=AT),
        "too_many_unwanted": lambda: not_wanted(line=sent_line, packs=2, by=by, at=AT),
        "long_note": lambda: change_order(order=draft, note="x" * 2001, by=by, at=AT),
        "carriage": lambda: change_order(order=draft, carriage_cents=-1, by=by, at=AT),
        "empty": lambda: (
            remove_line(line=line, by=by, at=AT),
            send_order(order=draft, by=by, at=AT),
        ),
        "dropped": lambda: (
            drop_draft(order=draft, by=by, at=AT),
            send_order(order=PurchaseOrder.objects.get(pk=draft.pk), by=by, at=AT),
        ),
    }
    with pytest.raises(Refused) as no:
        deeds[deed]()
    return no.value


@pytest.mark.parametrize(
    ("deed", "sentence", "help_"),
    [
        ("line_of_sent", "was sent and is not changed any more", "Begin another order"),
        ("remove_of_sent", "was sent and is not changed any more", "Begin another order"),
        ("drop_sent", "was sent and is not changed any more", "Begin another order"),
        ("strange_pack", "does not sell Complete fertiliser in packs of 3 L", "Add the pack"),
        ("other_dimension", "is counted as a volume in mL or L", "Write the amount"),
        ("no_packs", "Packs: 0 is not allowed", "remove the line"),
        ("too_many", "Packs: 10001 is not allowed", "remove the line"),
        ("unsent_remainder", "nothing of it is to come", "Say first that it is sent"),
        ("too_many_unwanted", "2 packs are not still to come", ""),
        ("long_note", "at most 2000 characters", "Shorten it"),
        ("carriage", "Carriage: this is not allowed", "Check the number"),
        ("empty", "is empty", "Put something on it"),
        ("dropped", "was dropped", ""),
    ],
)
def test_what_is_refused_says_why_and_what_to_do(
    deed: str, sentence: str, help_: str, trade: Supplier, fertiliser: Item
) -> None:
    no = _refused(deed, trade, fertiliser)
    assert sentence in str(no)
    assert help_ in str(no)
    assert no.fields


def test_a_carer_may_neither_draft_nor_send(trade: Supplier, fertiliser: Item) -> None:
    carer = a_person("senior_carer", showroom=trade.showroom)
    with pytest.raises(Forbidden):
        draft_order(supplier=trade, by=carer, at=AT)
    order = a_draft(trade)
    for deed in (
        lambda: set_line(order=order, item=fertiliser, pack=CAN, packs=1, by=carer, at=AT),
        lambda: send_order(order=order, by=carer, at=AT),
    ):
        with pytest.raises(Forbidden):
            deed()


def test_another_gallerys_things_are_unknown(trade: Supplier) -> None:
    stranger = an_owner(a_showroom())
    strange_item = a_fertiliser(stranger.showroom)
    with pytest.raises(Unknown):
        draft_order(supplier=trade, by=stranger, at=AT)
    with pytest.raises(Unknown):
        a_line(a_draft(trade), strange_item, CAN)


# --- money and the letter -----------------------------------------------------------------------
def test_carriage_falls_away_from_the_stated_sum_on(fertiliser: Item, trade: Supplier) -> None:
    trade.carriage_cents, trade.carriage_free_from_cents, trade.min_order_cents = 950, 9000, 6000
    trade.save()
    order = a_draft(trade)
    a_line(order, fertiliser, CAN, 1)
    one = order_money(PurchaseOrder.objects.get(pk=order.pk))
    a_line(order, fertiliser, CAN, 3)
    three = order_money(PurchaseOrder.objects.get(pk=order.pk))
    assert (one.goods.cents, one.carriage.cents, one.to_pay.cents) == (3140, 950, 4090)
    assert (one.is_smallest_met, three.is_smallest_met) == (False, True)
    assert (three.goods.cents, three.carriage.cents) == (9420, 0)
    assert (one.budget, one.over_budget) == (None, None)


def test_the_letter_lists_what_is_wanted(trade: Supplier, fertiliser: Item, food: Item) -> None:
    order = a_draft(trade)
    a_line(order, fertiliser, CAN, 2)
    a_line(order, food, TUB, 1)
    change_order(order=order, wanted_on=date(2026, 3, 20), by=an_owner(trade.showroom), at=AT)
    text = order_text(PurchaseOrder.objects.get(pk=order.pk))
    assert "with the van of Friday 20 March, or the next one you can:" in text
    assert "2 × Complete fertiliser, can 5 L\n1 × Fine granules, tub 100 g" in text
    assert text.endswith("Order 0001")


@pytest.mark.once
def test_queries_do_not_grow_with_the_orders(trade: Supplier, fertiliser: Item) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            on_order(trade.showroom, at=AT)
        return len(seen)

    an_order(trade, (fertiliser, CAN, 1))
    few = asked()
    for _ in range(6):
        an_order(trade, (fertiliser, CAN, 1))
    assert asked() == few
