"""Orders, receipts and suppliers by their pages: without any script, as a browser sends them."""

from __future__ import annotations

import re
import time
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from gallery_ops.kernel import clock
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.quantity import Mass, Pieces
from gallery_ops.overview.receipt_typed import read_month
from inventory.models import (
    Container,
    GoodsReceipt,
    Item,
    PurchaseOrder,
    Supplier,
    SupplierItem,
)
from inventory.queries.orders import lines_of
from inventory.services.items import add_item
from tests.builders.gallery import AT, a_person, a_planted_tank, a_showroom, an_owner
from tests.builders.orders import a_draft, a_line, a_pack, a_supplier, an_order
from tests.builders.stock import a_food, a_plan
from tests.gallery_ops.web.pages.addresses import signed_in

pytestmark = pytest.mark.django_db

TUB = Mass.g(100)
STONE = Pieces(1)


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


@pytest.fixture
def owner() -> Membership:
    return an_owner(a_showroom())


@pytest.fixture
def trade(owner: Membership) -> Supplier:
    return a_supplier(
        owner.showroom,
        "Brackwater Trade",
        claim_hours=24,
        email="orders@example.org",
        contact_private="Jory, 01632 960 151",
    )


@pytest.fixture
def food(trade: Supplier) -> Item:
    """Five grams a day; opened it keeps 28 days."""
    item = a_food(trade.showroom, name="Fine granules", opened_life_days=28)
    a_pack(trade, item, TUB, price_cents=840)
    a_plan(a_planted_tank(showroom=trade.showroom), item, Mass.g(5), purpose="food")
    return item


@pytest.fixture
def stones(trade: Supplier) -> Item:
    item = add_item(
        showroom=trade.showroom,
        code="air-stones",
        name="Air stones",
        kind="other",
        dimension="piece",
        storage="shelf 3",
        by=an_owner(trade.showroom),
        at=AT,
    )
    a_pack(trade, item, STONE, price_cents=240)
    return item


def said(answer: Any) -> str:
    """The words of a page, without its marks."""
    text = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return re.sub(r"\s+", " ", text).replace("&#x27;", "'")


def receive(client: Client, order: PurchaseOrder, deed: str = "write", **typed: str) -> Any:
    fields = {key.replace("_", "-"): value for key, value in typed.items()}
    return client.post(
        reverse("goods_receipt", args=[order.uid]), {"deed": deed, **fields}, follow=True
    )


# --- an order -----------------------------------------------------------------------------------
def test_a_draft_is_begun_filled_changed_and_said_to_be_sent(
    owner: Membership, trade: Supplier, food: Item
) -> None:
    client = signed_in(owner)
    began = client.post(reverse("order_list"), {"supplier": str(trade.uid)})
    order = PurchaseOrder.objects.get()
    page = reverse("order_detail", args=[order.uid])
    assert (began.status_code, began["Location"]) == (302, page)
    client.post(page, {"deed": "add", "offer": f"{food.uid}:100000", "packs": "2"})
    (line,) = lines_of([order])[order.pk]
    changed = {"deed": "lines", f"packs-{line.uid}": "3", "note": "No substitutes, please."}
    shown = said(client.post(page, changed, follow=True))
    assert "A draft to Brackwater Trade for £25.20." in shown
    assert "3 × Fine granules, tub 100 g" in shown
    assert "No substitutes, please." in shown
    shown = said(client.post(page, {"deed": "sent"}, follow=True))
    assert "3 packs are to come, likely" in shown
    assert "A van came: write it down" in shown
    assert f"Order {order}" in said(client.get(reverse("order_letter", args=[order.uid])))


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"deed": "add", "offer": "x", "packs": "1"}, "What? Nothing was chosen."),
        ({"deed": "add", "packs": "two"}, "“two” is no whole number"),
        ({"deed": "lines", "carriage": "1,2,3"}, "Only one decimal mark is allowed"),
        ({"deed": "lines", "wanted_on": "tomorrow"}, "“tomorrow” is no day"),
        ({"deed": "sent"}, "is empty"),
        ({"deed": "nothing"}, "Nothing was chosen."),
    ],
)
def test_what_is_refused_on_a_draft_says_so_and_stays_typed(
    typed: dict[str, str], sentence: str, owner: Membership, trade: Supplier, food: Item
) -> None:
    order = a_draft(trade)
    typed = {"offer": f"{food.uid}:100000", "note": "typed", **typed}
    answer = signed_in(owner).post(reverse("order_detail", args=[order.uid]), typed)
    assert answer.status_code == 422
    assert sentence in said(answer)
    if typed["deed"] == "lines":
        assert "typed" in answer.content.decode()


def test_cancelling_asks_to_ring_them_first(owner: Membership, trade: Supplier, food: Item) -> None:
    order = an_order(trade, (food, TUB, 2))
    client, page = signed_in(owner), reverse("order_detail", args=[order.uid])
    answer = client.post(page, {"deed": "cancel"})
    assert answer.status_code == 422
    assert "they must be told first" in said(answer)
    assert "Jory, 01632 960 151" in said(answer)
    shown = said(client.post(page, {"deed": "cancel", "told": "yes"}, follow=True))
    assert f"Order {order} is closed." in shown


def test_a_carer_reads_a_draft_and_changes_nothing(
    owner: Membership, trade: Supplier, food: Item
) -> None:
    order = a_draft(trade)
    a_line(order, food, TUB, 2)
    client = signed_in(a_person("carer", showroom=owner.showroom))
    page = reverse("order_detail", args=[order.uid])
    shown = said(client.get(page))
    assert "Fine granules" in shown
    assert "It is sent" not in shown
    assert client.post(page, {"deed": "sent"}).status_code == 403


# --- a van --------------------------------------------------------------------------------------
def test_a_van_in_two_parts_with_a_substitute_and_a_broken_one_without_any_script(
    owner: Membership, trade: Supplier, food: Item, stones: Item
) -> None:
    order = an_order(trade, (stones, STONE, 6), (food, TUB, 2))
    client = signed_in(owner)
    look = receive(
        client, order, "look", came_1="4", broken_1="1", other_2=str(food.uid), pack_2="250 g"
    )
    shown = said(look)
    assert "Most of it came. One line is a substitute, one is short, one piece is broken." in shown
    assert "1 tub of 250 g feeds 50 days; opened it keeps 28. About 110 g would go" in shown
    assert "Claim until tomorrow 08:08" in shown
    assert not GoodsReceipt.objects.exists()
    asked = receive(
        client, order, came_1="4", broken_1="1", other_2=str(food.uid), pack_2="250 g",
        keep_2="split",
    )  # fmt: skip
    assert asked.status_code == 422
    assert "Air stones: 1 still to come: does it stay on order?" in said(asked)
    assert 'value="250 g"' in asked.content.decode()
    done = receive(
        client, order, came_1="4", broken_1="1", rest_1="yes", other_2=str(food.uid),
        pack_2="250 g", keep_2="split", lot_2="0126", best_2="Nov 2026",
    )  # fmt: skip
    assert "instead of Fine granules" in said(done)
    assert "Please send them again or take them off the bill." in said(done)
    assert Container.objects.filter(item=food).count() == 2
    assert str(Container.objects.filter(item=food)[0].lot.expires_on) == "2026-11-30"
    rest = receive(client, order, came_1="1")
    assert f"Order {order} is closed." in said(rest)
    assert GoodsReceipt.objects.count() == 2


def test_the_same_form_sent_twice_is_one_receipt(
    owner: Membership, trade: Supplier, stones: Item
) -> None:
    order = an_order(trade, (stones, STONE, 6))
    client = signed_in(owner)
    page = client.get(reverse("goods_receipt", args=[order.uid])).content.decode()
    action = re.search(r'name="action_id" value="([^"]+)"', page)
    assert action
    for _ in range(2):
        client.post(
            reverse("goods_receipt", args=[order.uid]),
            {"deed": "write", "action_id": action[1], "came-1": "3", "rest-1": "yes"},
        )
    assert GoodsReceipt.objects.count() == 1


def test_a_button_of_the_stepper_works_without_any_script(
    owner: Membership, trade: Supplier, stones: Item
) -> None:
    order = an_order(trade, (stones, STONE, 6))
    answer = signed_in(owner).post(
        reverse("goods_receipt", args=[order.uid]), {"step": "came-1:up", "came-1": "2"}
    )
    assert re.search(r'id="came-1"[^>]* value="3"', answer.content.decode())


def test_what_is_left_half_done_waits_and_is_begun_again_on_request(
    owner: Membership, trade: Supplier, stones: Item
) -> None:
    order = an_order(trade, (stones, STONE, 6))
    client, page = signed_in(owner), reverse("goods_receipt", args=[order.uid])
    receive(client, order, "leave", came_1="4", lot_1="88214")
    kept = client.get(page)
    assert "left half done" in said(kept)
    assert 'value="88214"' in kept.content.decode()
    assert not GoodsReceipt.objects.exists()
    receive(client, order, "afresh")
    assert 'value="88214"' not in client.get(page).content.decode()


@pytest.mark.parametrize(
    ("typed", "sentence", "field"),
    [
        ({"came-1": "many"}, "“many” is not allowed. Allowed: 0 to 10,000, whole.", "came-1"),
        ({"came-1": "7"}, "7 came, 6 were to come", "more-1"),
        ({"came-1": "6", "best-1": "soon"}, "“soon” is no month or day", "best-1"),
        ({"other-1": "nobody"}, "is not kept here. Choose one of the list", "other-1"),
        ({"came-1": "6", "lot-1": "x" * 61}, "at most 60 characters", "lot-1"),
        ({}, "Nothing was written down yet.", "came-1"),
    ],
)
def test_a_field_that_cannot_be_is_named_with_its_place(
    typed: dict[str, str],
    sentence: str,
    field: str,
    owner: Membership,
    trade: Supplier,
    stones: Item,
) -> None:
    order = an_order(trade, (stones, STONE, 6))
    answer = signed_in(owner).post(
        reverse("goods_receipt", args=[order.uid]), {"deed": "write", **typed}
    )
    assert answer.status_code == 422
    assert sentence in said(answer)
    assert f'href="#{field}"' in answer.content.decode()
    assert not GoodsReceipt.objects.exists()


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Feb 2028", "2028-02-29"),
        ("02 2028", "2028-02-29"),
        ("2/28", "2028-02-29"),
        ("2028-02", "2028-02-29"),
        ("15.02.2028", "2028-02-15"),
        ("2028-02-15", "2028-02-15"),
        ("2028", "None"),
        ("31.02.2028", "None"),
        ("13 2028", "None"),
        ("next year", "None"),
        ("02 1800", "None"),
    ],
)
def test_a_printed_day_is_read_as_people_write_it(text: str, found: str) -> None:
    assert str(read_month(text)) == found


# --- suppliers ----------------------------------------------------------------------------------
def test_a_supplier_is_added_changed_and_given_a_pack_with_a_price(
    owner: Membership, stones: Item
) -> None:
    client = signed_in(owner)
    fields = {
        "name": "Quayhead Gas",
        "delivery_weekdays": ["2"],
        "stated_lead_days": "5",
        "cut_off_at": "12:00",
        "carriage": "6,50",
    }
    client.post(reverse("supplier_add"), fields)
    supplier = Supplier.objects.get(name="Quayhead Gas")
    assert (supplier.delivery_weekdays, supplier.carriage_cents) == ("0010000", 650)
    page = reverse("supplier_detail", args=[supplier.uid])
    change = reverse("supplier_change", args=[supplier.uid])
    client.post(change, {**fields, "stated_lead_days": "9"})
    pack = {"deed": "pack", "item": str(stones.uid), "pack": "4", "price": "9.60"}
    client.post(page, pack)
    name = f"{stones.uid}:4"
    client.post(page, {"deed": "price", "offer": name, "number": "1", "price-1": "10.20"})
    shown = said(client.get(page))
    assert "They say 9 days." in shown
    assert "1 box of 4" in shown
    assert "2 prices, +6 %" in shown
    assert "£10.20" in shown


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": "", "stated_lead_days": "5"}, "This field is required"),
        ({"name": "X", "stated_lead_days": "0"}, "greater than or equal to 1"),
        ({"name": "X", "stated_lead_days": "5", "cut_off_at": "noon"}, "Enter a valid time"),
        ({"name": "X", "stated_lead_days": "5", "min_order": "-5"}, "less than nothing"),
        ({"name": "Brackwater Trade", "stated_lead_days": "5"}, "A supplier of this name exists"),
    ],
)
def test_what_cannot_be_known_of_a_supplier_is_refused_and_stays_typed(
    typed: dict[str, str], sentence: str, owner: Membership, trade: Supplier
) -> None:
    answer = signed_in(owner).post(reverse("supplier_add"), {**typed, "our_number": "U-77"})
    assert answer.status_code == 422
    assert sentence in said(answer)
    assert "U-77" in answer.content.decode()


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"deed": "pack", "pack": "100"}, "Write the unit after the number"),
        ({"deed": "price", "number": "1", "price-1": "dear"}, "Write digits"),
        ({"deed": "price", "number": "1"}, "Price: nothing was given."),
        ({"deed": "closure", "from_on": "3.4.2026"}, "Write it as 2026-04-03"),
        (
            {"deed": "closure", "from_on": "2026-04-03", "to_on": "2026-04-03"},
            "this lies before it closes",
        ),
        ({"deed": "deposit", "amount": ""}, "Deposit: nothing was given"),
        ({"deed": "send_back"}, "What goes back? Nothing was chosen."),
        ({"deed": "retire_pack", "offer": "x"}, "Which pack? Nothing was chosen."),
    ],
)
def test_what_is_refused_on_a_suppliers_page_says_so(
    typed: dict[str, str], sentence: str, owner: Membership, trade: Supplier, food: Item
) -> None:
    offer = SupplierItem.objects.get()
    fields = {"item": str(food.uid), "offer": f"{food.uid}:{offer.pack_base}", **typed}
    answer = signed_in(owner).post(reverse("supplier_detail", args=[trade.uid]), fields)
    assert answer.status_code == 422
    assert sentence in said(answer)
