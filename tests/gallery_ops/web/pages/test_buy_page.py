"""The page of the buy list: its sentence, its numbers, its letter, and who may send."""

from __future__ import annotations

import re
import time
from html import unescape
from typing import Any

import pytest
from django.urls import reverse

from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.values.quantity import Volume
from gallery_ops.overview.buy_page import buy_page, say_sent
from inventory.models import Item, OrderLine, PurchaseOrder
from inventory.services import forecasts
from inventory.services.prices import set_budget
from tests.builders.people import a_member
from tests.built_once import built_once
from tests.gallery_ops.web.pages.addresses import signed_in
from tests.inventory.orders.test_buy_list import stocked
from tests.inventory.projections.world import NOW, TODAY, World, a_world

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _that_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


built, world = built_once(lambda: a_world(days=7))


@pytest.fixture
def low(world: World) -> Item:
    item = stocked(world, "carbon", days=12)
    item.supplier_items.update(price_cents=1_250)
    forecasts.refresh(showroom=world.showroom, at=NOW)
    return item


def text_of(answer: Any) -> str:
    plain = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return unescape(re.sub(r"\s+", " ", plain))


def get(world: World, **more: Any) -> str:
    answer = signed_in(world.by).get(reverse("buy_list"), **more)
    assert answer.status_code == 200
    return text_of(answer)


def say(world: World, item: Item, deed: str, packs: str) -> Any:
    supplier = item.supplier_items.get().supplier
    return signed_in(world.by).post(
        reverse("buy_list"),
        {
            "supplier": str(supplier.uid),
            "deed": deed,
            f"packs-{item.uid}-1000000": packs,
        },
    )


def test_the_sentence_says_what_must_go_by_when_for_how_much(world: World, low: Item) -> None:
    said = get(world)
    assert re.search(r"One order must go .*: £12.50 to Brackwater carbon\.", said)
    assert "One order, £12.50 in all" in said
    assert "nothing is set aside for March yet" in said
    assert "Must now" in said
    assert "Why this amount" in said
    assert "1 × Carbon, bottle 1 L" in said
    assert "On order only when you say it is sent." in said


def test_nothing_to_order_says_until_when(world: World) -> None:
    stocked(world, "carbon", days=100)
    forecasts.refresh(showroom=world.showroom, at=NOW)
    said = get(world)
    assert "Nothing must be ordered before" in said
    assert "The first order must go" in said


def test_an_empty_gallery_has_a_sentence_and_a_way_on(world: World) -> None:
    said = get(world)
    assert "Nothing must be ordered." in said
    assert "See what runs out" in said


def test_over_the_cash_set_aside_is_said(world: World, low: Item) -> None:
    set_budget(showroom=world.showroom, month_on=TODAY, amount_cents=1_000, by=world.by, at=NOW)
    assert "£2.50 more than is set aside for March. What must go does not wait." in get(world)


def test_numbers_change_in_the_row_and_the_letter_follows(world: World, low: Item) -> None:
    assert say(world, low, "write", "3").status_code == 302
    (line,) = OrderLine.objects.filter(order__showroom=world.showroom)
    assert (line.packs, line.order.sent_at) == (3, None)
    assert "Not two" in line.because["words"]
    said = get(world)
    assert "3 × Carbon, bottle 1 L" in said
    assert "£37.50" in said
    assert "proposed: 1" in said
    assert say(world, low, "write", "0").status_code == 302
    line.refresh_from_db()
    assert line.voided_at is not None


def test_it_is_sent_puts_it_on_order_and_off_the_list(world: World, low: Item) -> None:
    client = signed_in(world.by)
    supplier = low.supplier_items.get().supplier
    typed = {"supplier": supplier.uid, "deed": "sent", f"packs-{low.uid}-1000000": "2"}
    assert client.post(reverse("buy_list"), typed).status_code == 302
    order = PurchaseOrder.objects.get(showroom=world.showroom)
    assert order.sent_at is not None
    said = text_of(client.get(reverse("buy_list")))
    assert f"Order {order} to Brackwater carbon is on order." in said
    assert "Must now" not in said


def test_the_same_list_sent_twice_is_one_order(world: World, low: Item) -> None:
    found, letters = buy_page(world.showroom, NOW)
    (section,) = found.sections
    seen = letters[section.supplier.pk].sent_last
    more = {"section": section, "packs": {}, "because": {}, "by": world.by, "at": NOW}
    order = say_sent(**more, sent_last=seen)
    with pytest.raises(Refused) as no:
        say_sent(**more, sent_last=seen)
    assert no.value.code == "sent_meanwhile"
    assert str(order) in no.value.sentence
    assert PurchaseOrder.objects.filter(showroom=world.showroom).count() == 1


def test_the_page_says_which_order_it_saw_and_an_older_one_is_refused(
    world: World, low: Item
) -> None:
    client = signed_in(world.by)
    supplier = low.supplier_items.get().supplier
    assert 'name="sent_last" value="0"' in client.get(reverse("buy_list")).content.decode()
    typed = {"supplier": supplier.uid, "deed": "sent", f"packs-{low.uid}-1000000": "2"}
    answer = client.post(reverse("buy_list"), {**typed, "sent_last": "7"})
    assert answer.status_code == 422
    assert "was sent since this list was opened" in text_of(answer)
    assert client.post(reverse("buy_list"), {**typed, "sent_last": "0"}).status_code == 302


@pytest.mark.parametrize("typed", ["two", "-1", "1.5", "1e3", "", "10001", "９", "9" * 40])
def test_a_number_that_is_none_is_named_and_stays(world: World, low: Item, typed: str) -> None:
    answer = say(world, low, "sent", typed)
    assert answer.status_code == 422
    html = answer.content.decode()
    assert f'href="#packs-{low.uid}-1000000"' in html
    assert "Allowed: " in html
    assert re.search(rf'name="packs-{low.uid}-1000000"[^>]* value="{re.escape(typed)}"', html)
    assert not PurchaseOrder.objects.filter(showroom=world.showroom).exists()


def test_sending_nothing_is_refused_and_leaves_nothing(world: World, low: Item) -> None:
    answer = say(world, low, "sent", "0")
    assert answer.status_code == 422
    assert "is empty" in text_of(answer)
    assert not PurchaseOrder.objects.filter(showroom=world.showroom).exists()


def test_a_supplier_that_is_not_on_the_list_and_a_missing_deed(world: World, low: Item) -> None:
    other = a_world(days=7, code="elsewhere")
    foreign = stocked(other, "carbon", days=12)
    assert say(world, foreign, "sent", "1").status_code == 422
    assert not PurchaseOrder.objects.exists()
    assert "Nothing was chosen." in text_of(say(world, low, "shout", "1"))


def test_a_carer_reads_and_does_not_send(world: World, low: Item) -> None:
    carer = signed_in(a_member(world.by, "carer"))
    html = carer.get(reverse("buy_list")).content.decode()
    assert "A manager or the owner changes and sends it." in html
    assert 'name="deed"' not in html
    supplier = low.supplier_items.get().supplier
    answer = carer.post(reverse("buy_list"), {"supplier": str(supplier.uid), "deed": "sent"})
    assert answer.status_code == 403
    assert not PurchaseOrder.objects.exists()


def test_a_name_is_not_taken_for_markup(world: World, low: Item) -> None:
    Item.objects.filter(pk=low.pk).update(name="<b>Carbon</b>")
    html = signed_in(world.by).get(reverse("buy_list")).content.decode()
    assert "<b>Carbon</b>" not in html
    assert "&lt;b&gt;Carbon&lt;/b&gt;" in html


def test_packs_of_litres_are_words_of_the_gallerys_mark(world: World, low: Item) -> None:
    world.showroom.decimal_mark = ","
    world.showroom.save()
    low.supplier_items.update(pack_base=Volume.ml(2_500).base)
    assert "2,5 L" in get(world)
