"""Suppliers, orders and receipts as programs read them; a draft as they write it."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.values.quantity import Volume
from inventory.models import PurchaseOrder
from inventory.queries.orders import lines_of
from inventory.services.receipts import Came, receive_goods
from tests.builders.orders import a_pack, a_supplier, an_order
from tests.built_once import built_once
from tests.gallery_ops.api.asking import AT, a_browser, a_morning, a_program, is_problem
from tests.maintenance.house import House, a_carer

pytestmark = pytest.mark.django_db

built, house = built_once(a_morning)

CAN = Volume.l(5)
NOBODY = "00000000-0000-7000-8000-000000000009"


def ordered(house: House, name: str = "") -> PurchaseOrder:
    """Two cans of which one came."""
    supplier = a_supplier(house.showroom, name, stated_lead_days=7, claim_hours=24)
    a_pack(supplier, house.fertiliser, CAN, deposit_cents=200)
    order = an_order(supplier, (house.fertiliser, CAN, 2), at=AT - timedelta(days=5))
    (line,) = lines_of([order])[order.pk]
    came = Came(line, whole=1, maker_lot="88214", stays=True)
    receive_goods(order=order, came=[came], by=house.owner, at=AT - timedelta(hours=1))
    return order


def read(house: House, path: str, **asked: Any) -> Any:
    answer = a_browser(house.owner).get(f"/api/v1/{path}", asked)
    assert answer.status_code == 200, answer.content
    return answer.json()


def post(house: House, path: str, body: Any, headers: dict[str, str] | None = None) -> Any:
    sent = headers or a_program(house, "read", "plan.change")
    text = json.dumps(body)
    return Client().post(f"/api/v1/{path}", text, content_type="application/json", headers=sent)


def test_an_order_says_what_is_to_come_and_when(house: House) -> None:
    order = ordered(house)
    (row,) = read(house, "orders", state="part_received")["results"]
    assert row == read(house, f"orders/{order.uid}")
    assert (row["number"], row["state"]) == (1, "part_received")
    assert row["to_pay"] == {"cents": 2500, "currency": "GBP", "text": "25.00 GBP"}
    assert row["expected_from"] <= row["expected_to"]
    (line,) = row["lines"]
    assert (line["packs"], line["to_come_packs"], line["pack"]["amount"]) == (2, 1, 5_000_000)
    assert read(house, "orders", state="draft")["results"] == []


def test_a_supplier_says_what_they_sell_and_how_long_they_take(house: House) -> None:
    order = ordered(house)
    (row,) = read(house, "suppliers", item=house.fertiliser.code)["results"]
    assert row == read(house, f"suppliers/{order.supplier.uid}")
    assert (row["lead"]["stated_days"], row["lead"]["n"]) == (7, 1)
    assert 5 < row["lead"]["median_days"] < 7
    (offer,) = row["offers"]
    assert (offer["pack"]["text"], offer["price"]["cents"], offer["deposit"]["cents"]) == (
        "5 L",
        1250,
        200,
    )
    assert read(house, "suppliers", item="nothing")["results"] == []


def test_a_receipt_says_what_came_with_its_lot(house: House) -> None:
    order = ordered(house)
    (row,) = read(house, "receipts", order=str(order.uid))["results"]
    assert row == read(house, f"receipts/{row['uid']}")
    (line,) = row["lines"]
    assert (line["packs_came"], line["maker_lot"], line["is_kept"]) == (1, "88214", True)


def test_a_program_drafts_and_sends_nothing(house: House) -> None:
    supplier = ordered(house).supplier
    first = post(house, "orders", {"supplier": str(supplier.uid)})
    again = post(house, "orders", {"supplier": str(supplier.uid)})
    assert first.status_code == again.status_code == 200
    assert first.json()["uid"] == again.json()["uid"]
    address = f"orders/{first.json()['uid']}/lines"
    body = {"item": house.fertiliser.code, "pack": CAN.base, "packs": 3}
    for _ in range(2):
        said = post(house, address, body)
        assert said.status_code == 200, said.content
    assert (said.json()["state"], [x["packs"] for x in said.json()["lines"]]) == ("draft", [3])


def test_what_may_not_be_drafted_is_a_problem_with_words(house: House) -> None:
    sent = ordered(house)
    body = {"item": house.fertiliser.code, "pack": CAN.base, "packs": 3}
    lines = f"orders/{sent.uid}/lines"
    refused = is_problem(post(house, lines, body), 400, "invalid")
    assert ("was sent" in refused["detail"], refused["code"]) == (True, "already_sent")
    draft = post(house, "orders", {"supplier": str(sent.supplier.uid)}).json()
    other = {**body, "pack": 1}
    not_sold = is_problem(post(house, f"orders/{draft['uid']}/lines", other), 400, "invalid")
    assert ("does not sell" in not_sold["detail"], not_sold["code"]) == (True, "not_sold")
    wrong = is_problem(post(house, lines, {**body, "packs": 0}), 400, "invalid")
    assert list(wrong["fields"]) == ["packs"]
    is_problem(post(house, lines, {**body, "item": "no-such"}), 404, "unknown")
    is_problem(post(house, "orders", {"supplier": NOBODY}), 404, "unknown")
    is_problem(post(house, "orders", {"supplier": "x"}), 400, "invalid")
    carer = a_program(house, "read", of=a_carer(house, "pia"))
    is_problem(post(house, "orders", {"supplier": NOBODY}, carer), 403, "not_allowed")
    is_problem(post(house, "orders", {}, {"X": "y"}), 401, "sign_in_first")


def test_a_strangers_orders_are_unknown() -> None:
    mine, theirs = a_morning("mine"), a_morning("theirs")
    order = ordered(theirs)
    receipt = order.receipts.get()
    browser = a_browser(mine.owner)
    for path in (
        f"orders/{order.uid}",
        f"suppliers/{order.supplier.uid}",
        f"receipts/{receipt.uid}",
    ):
        is_problem(browser.get(f"/api/v1/{path}"), 404, "unknown")
    for path in ("orders", "suppliers", "receipts"):
        assert browser.get(f"/api/v1/{path}").json()["results"] == []
    is_problem(post(mine, "orders", {"supplier": str(order.supplier.uid)}), 404, "unknown")


@pytest.mark.once
def test_queries_do_not_grow_with_the_orders(house: House) -> None:
    ordered(house, "first")
    browser = a_browser(house.owner)

    def asked() -> list[int]:
        found = []
        for path in ("orders", "suppliers", "receipts"):
            with CaptureQueriesContext(connection) as seen:
                assert browser.get(f"/api/v1/{path}").status_code == 200
            found.append(len(seen))
        return found

    few = asked()
    for number in range(4):
        ordered(house, f"another {number}")
    assert asked() == few
