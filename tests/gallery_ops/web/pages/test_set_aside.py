"""Stock and money set aside, vans without an order, vans taken back: by their pages."""

from __future__ import annotations

import re
import threading
import time
from datetime import date
from html import unescape
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.quantity import Mass, Pieces
from inventory.models import (
    Container,
    GoodsReceipt,
    Item,
    MonthBudget,
    PurchaseOrder,
    Reservation,
    Supplier,
)
from inventory.queries.orders import lines_of
from inventory.queries.reservations import reservations_open
from inventory.services.containers import NewContainer, receive
from inventory.services.items import add_item
from inventory.services.receipts import Came, receive_goods
from inventory.services.reservations import reserve
from tests.builders.gallery import AT, a_person, a_showroom, an_owner
from tests.builders.orders import a_pack, a_supplier, an_order
from tests.builders.stock import a_food, a_gas
from tests.gallery_ops.web.pages.addresses import signed_in

DAY = date(2026, 3, 20)


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


def six_cups(owner: Membership) -> Item:
    """Six plants in cups on the shelf."""
    item = add_item(
        showroom=owner.showroom, code="cups", name="Plants in cups", kind="other",
        dimension="piece", by=owner, at=AT,
    )  # fmt: skip
    receive(item=item, containers=[NewContainer("bag", Pieces(6))], by=owner, at=AT)
    return item


def text_of(answer: Any) -> str:
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())))


def keep(client: Client, **typed: str) -> Any:
    said = {
        "deed": "keep", "item": "cups", "amount": "4", "needed_on": "2026-03-20",
        "for_what": "T03, planting", **typed,
    }  # fmt: skip
    return client.post(reverse("reservation_list"), said)


@pytest.mark.django_db
def test_what_is_kept_for_one_build_is_not_kept_for_another_until_it_is_free() -> None:
    owner = an_owner(a_showroom())
    six_cups(owner)
    client = signed_in(owner)
    assert "Nothing is set aside." in text_of(client.get(reverse("reservation_list")))
    assert keep(client, amount="4 pcs").status_code == 302
    refused = keep(client, amount="3", for_what="T09, planting")
    assert refused.status_code == 422
    said = text_of(refused)
    assert "3 pcs cannot be kept, 2 pcs are free. Kept already: 4 pcs for T03, planting." in said
    assert 'value="T09, planting"' in refused.content.decode(), "what was typed stays"
    assert keep(client, amount="2", for_what="T09, planting").status_code == 302
    shown = text_of(client.get(reverse("reservation_list")))
    assert "2 things are set aside. All of it is here." in shown
    uid = Reservation.objects.get(for_what="T03, planting").uid
    freed = client.post(reverse("reservation_list"), {"deed": "free", "uid": str(uid)})
    assert freed.status_code == 302
    assert keep(client, amount="4", for_what="class of Saturday").status_code == 302


@pytest.mark.django_db
def test_more_than_is_here_is_kept_only_when_the_rest_is_bought() -> None:
    owner = an_owner(a_showroom())
    six_cups(owner)
    client = signed_in(owner)
    assert keep(client, amount="9").status_code == 422
    assert keep(client, amount="9", rest="bought").status_code == 302
    said = text_of(client.get(reverse("reservation_list")))
    assert "6 pcs are here, the rest is bought" in said
    (one,) = reservations_open(owner.showroom, AT)
    assert (one.amount.base, one.here.base) == (9, 6)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"item": ""}, "item"),
        ({"amount": "some"}, "amount"),
        ({"amount": "4 mL"}, "amount"),
        ({"amount": "0"}, "amount"),
        ({"needed_on": ""}, "needed_on"),
        ({"needed_on": "soon"}, "needed_on"),
        ({"needed_on": "2026-03-11"}, "needed_on"),
        ({"for_what": " "}, "for_what"),
        ({"tank": "T77"}, "tank"),
    ],
)
def test_what_cannot_be_kept_names_its_field(typed: dict[str, str], field: str) -> None:
    owner = an_owner(a_showroom())
    six_cups(owner)
    answer = keep(signed_in(owner), **typed)
    assert answer.status_code == 422
    assert f'href="#{field}"' in answer.content.decode()
    assert not Reservation.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_two_at_once_do_not_keep_the_same_piece() -> None:
    owner = an_owner(a_showroom())
    item = six_cups(owner)
    start, found = threading.Barrier(2), list[Any]()

    def tell(what: str) -> None:
        try:
            start.wait(10)
            found.append(
                reserve(
                    item=item,
                    amount=Pieces(4),
                    needed_on=DAY,
                    for_what=what,
                    only_in_stock=True,
                    by=owner,
                    at=AT,
                )
            )
        except Refused as no:
            found.append(no.code)
        finally:
            connection.close()

    threads = [threading.Thread(target=tell, args=[what]) for what in ("T03", "T09")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert "kept_already" in found
    assert Reservation.objects.count() == 1


# --- money ---------------------------------------------------------------------------------------
@pytest.mark.django_db
def test_the_owner_sets_money_aside_and_others_see_it() -> None:
    owner = an_owner(a_showroom())
    client, path = signed_in(owner), reverse("month_budget")
    assert "Nobody set money aside" in text_of(client.get(path))
    said = {"deed": "set", "month": "2026-03-01", "amount-2026-03": "400,50"}
    assert client.post(path, said).status_code == 302
    assert MonthBudget.objects.get().amount_cents == 40_050
    manager = signed_in(a_person("manager", showroom=owner.showroom))
    shown = manager.get(path)
    assert "may still be ordered this month" in text_of(shown)
    assert 'name="month"' not in shown.content.decode()
    assert manager.post(path, said).status_code == 403
    for text in ("", "much", "-4", "99999999999"):
        refused = client.post(path, {**said, "amount-2026-03": text})
        assert refused.status_code == 422, text
        assert 'href="#amount-2026-03"' in refused.content.decode(), text
    past = {"deed": "set", "month": "2026-02-01", "amount-2026-02": "4"}
    assert client.post(path, past).status_code == 404


# --- vans ----------------------------------------------------------------------------------------
def a_trade(owner: Membership) -> tuple[Supplier, Item]:
    trade = a_supplier(owner.showroom, "Brackwater Trade")
    food = a_food(owner.showroom, name="Fine granules")
    a_pack(trade, food, Mass.g(100))
    return trade, food


@pytest.mark.django_db
def test_a_van_without_an_order_is_written_down_once_and_taken_back() -> None:
    owner = an_owner(a_showroom())
    trade, food = a_trade(owner)
    client, path = signed_in(owner), reverse("supplier_receipt", args=[trade.uid])
    action = re.search(r'name="action_id" value="([^"]+)"', client.get(path).content.decode())
    assert action
    said = {
        "action_id": action[1], "pack-1": f"{food.uid}:100000", "packs-1": "3", "lot-1": "L-9",
        "best-1": "2026-11-30", "delivery_note": "D 7",
    }  # fmt: skip
    for _ in range(2):
        assert client.post(path, said).status_code == 302
    assert Container.objects.filter(item=food, lot__maker_lot="L-9").count() == 3
    page = reverse("supplier_detail", args=[trade.uid])
    shown = client.get(page)
    assert "3 × Fine granules" in text_of(shown)
    uid = GoodsReceipt.objects.get().uid
    back = {"deed": "take_back", "receipt": str(uid), "reason": ""}
    refused = client.post(page, back)
    assert refused.status_code == 422
    assert "Why? Nothing was given." in text_of(refused)
    assert client.post(page, {**back, "reason": "of another gallery"}).status_code == 302
    assert not Container.objects.filter(voided_at=None).exists()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({}, "packs"),
        ({"packs-1": "2"}, "pack-1"),
        ({"packs-1": "many"}, "packs-1"),
        ({"packs-1": "0"}, "packs-1"),
        ({"packs-1": "1", "best-1": "autumn"}, "best-1"),
    ],
)
def test_a_row_that_cannot_be_is_named(typed: dict[str, str], field: str) -> None:
    owner = an_owner(a_showroom())
    trade, food = a_trade(owner)
    pack = {} if field == "pack-1" else {"pack-1": f"{food.uid}:100000"}
    answer = signed_in(owner).post(reverse("supplier_receipt", args=[trade.uid]), {**pack, **typed})
    assert answer.status_code == 422
    assert f'href="#{field}"' in answer.content.decode()
    assert not GoodsReceipt.objects.exists()


@pytest.mark.django_db
def test_a_van_of_an_order_is_taken_back_on_its_page() -> None:
    owner = an_owner(a_showroom())
    trade, food = a_trade(owner)
    order = an_order(trade, (food, Mass.g(100), 2))
    (line,) = lines_of([order])[order.pk]
    receipt = receive_goods(order=order, came=[Came(line, whole=2)], by=owner, at=AT)
    page = reverse("order_detail", args=[order.uid])
    said = {"deed": "take_back", "receipt": str(receipt.uid), "reason": "of another order"}
    carer = signed_in(a_person("carer", showroom=owner.showroom))
    assert "written down by mistake" not in text_of(carer.get(page))
    assert carer.post(page, said).status_code == 403
    client = signed_in(owner)
    assert "written down by mistake" in text_of(client.get(page))
    answer = client.post(page, said)
    assert answer.status_code == 302
    assert "what it brought is to come again" in text_of(client.get(page))
    order.refresh_from_db()
    assert order.state == "sent"


# --- from the page that says it runs out ---------------------------------------------------------
@pytest.mark.django_db
def test_a_row_of_the_stock_page_goes_on_the_draft_once() -> None:
    owner = an_owner(a_showroom())
    trade, food = a_trade(owner)
    client, path = signed_in(owner), reverse("item_order", args=[food.code])
    for _ in range(2):
        assert client.post(path).status_code == 302
    said = text_of(client.get(reverse("stock_forecast")))
    assert "1 × Fine granules: on order 0001, a draft." in said
    assert "Fine granules stands on order 0001 already." in said
    order = PurchaseOrder.objects.get()
    assert (order.supplier, [line.packs for line in lines_of([order])[order.pk]]) == (trade, [1])


@pytest.mark.django_db
def test_what_nobody_sells_and_a_cylinder_are_not_added() -> None:
    owner = an_owner(a_showroom())
    food, gas = a_food(owner.showroom, name="Flakes"), a_gas(owner.showroom)
    client = signed_in(owner)
    for item, words in ((food, "nobody is known who sells it"), (gas, "a cylinder is exchanged")):
        assert client.post(reverse("item_order", args=[item.code])).status_code == 302
        assert words in text_of(client.get(reverse("stock_forecast")))
    assert not PurchaseOrder.objects.exists()
    carer = signed_in(a_person("carer", showroom=owner.showroom))
    assert carer.post(reverse("item_order", args=[food.code])).status_code == 403
