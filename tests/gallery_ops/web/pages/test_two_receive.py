"""One van and two people, or one person and two presses: what came is booked once."""

from __future__ import annotations

import re
import time
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from gallery_ops.kernel import clock
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Container, Deposit, GoodsReceipt, Item, PurchaseOrder, Supplier
from tests.builders.gallery import a_showroom, an_owner
from tests.builders.orders import a_pack, a_supplier, an_order
from tests.builders.stock import a_food
from tests.gallery_ops.web.pages.addresses import signed_in

pytestmark = pytest.mark.django_db

TUB = Mass.g(100)


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


@pytest.fixture
def trade() -> Supplier:
    return a_supplier(a_showroom())


@pytest.fixture
def client(trade: Supplier) -> Client:
    return signed_in(an_owner(trade.showroom))


@pytest.fixture
def granules(trade: Supplier) -> Item:
    return _sold(trade, "Fine granules")


@pytest.fixture
def flakes(trade: Supplier) -> Item:
    return _sold(trade, "Large flakes")


def _sold(trade: Supplier, name: str) -> Item:
    item = a_food(trade.showroom, name=name)
    a_pack(trade, item, TUB)
    return item


def receive(client: Client, order: PurchaseOrder, deed: str = "write", **typed: str) -> Any:
    fields = {key.replace("_", "-"): value for key, value in typed.items()}
    return client.post(
        reverse("goods_receipt", args=[order.uid]), {"deed": deed, **fields}, follow=True
    )


def said(answer: Any) -> str:
    """The words of a page, without its marks."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def test_the_same_form_again_after_it_closed_the_order_leads_to_the_order(
    client: Client, trade: Supplier, granules: Item
) -> None:
    order = an_order(trade, (granules, TUB, 6))
    page = reverse("goods_receipt", args=[order.uid])
    action = "019590a1-0000-7000-8000-0000000000aa"
    for _ in range(2):
        answer = client.post(page, {"deed": "write", "action_id": action, "came-1": "6"})
        assert answer.status_code == 302
    assert GoodsReceipt.objects.count() == 1


def test_a_van_that_two_people_write_down_is_booked_once(
    client: Client, trade: Supplier, granules: Item
) -> None:
    order = an_order(trade, (granules, TUB, 6))
    page = reverse("goods_receipt", args=[order.uid])
    assert 'name="left-1" value="6"' in client.get(page).content.decode()
    both = {"came_1": "2", "left_1": "6", "rest_1": "yes"}
    receive(client, order, **both)
    second = receive(client, order, **both)
    assert second.status_code == 422
    assert "6 were to come when this page was opened, now 4." in said(second)
    assert 'name="left-1" value="4"' in second.content.decode()
    assert GoodsReceipt.objects.count() == 1


def test_what_was_typed_of_a_line_stays_with_it_when_another_was_received_meanwhile(
    client: Client, trade: Supplier, granules: Item, flakes: Item
) -> None:
    order = an_order(trade, (granules, TUB, 6), (flakes, TUB, 6))
    receive(client, order, "leave", came_1="3", lot_1="88214")
    receive(client, order, came_1="6")
    kept = client.get(reverse("goods_receipt", args=[order.uid])).content.decode()
    assert 'id="came-2"' in kept
    assert 'value="88214"' not in kept
    late = receive(client, order, came_1="3", came_2="1", rest_2="yes")
    assert late.status_code == 422
    assert "Fine granules: another entry came between" in said(late)
    assert not Container.objects.filter(item=flakes).exists()
    receive(client, order, came_2="1", rest_2="yes")
    assert Container.objects.filter(item=flakes).count() == 1


def test_a_deposit_pressed_twice_is_noted_once(client: Client, trade: Supplier) -> None:
    page = reverse("supplier_detail", args=[trade.uid])
    action = re.search(r'name="action_id" value="([^"]+)"', client.get(page).content.decode())
    assert action
    for _ in range(2):
        typed = {"deed": "deposit", "amount": "4.50", "action_id": action[1], "reason": "crate"}
        assert client.post(page, typed).status_code == 302
    assert list(Deposit.objects.values_list("amount_cents", flat=True)) == [450]
