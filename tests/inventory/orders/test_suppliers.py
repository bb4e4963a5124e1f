"""Suppliers, packs, prices, deposits, money set aside, stock that is spoken for."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any
from uuid import UUID

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import AuditEntry, Showroom
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import (
    Deposit,
    Item,
    Movement,
    MovementKind,
    PriceSeen,
    PurchaseOrder,
    Reservation,
    Supplier,
    SupplierClosure,
    SupplierItem,
)
from inventory.queries.levels import balance_base
from inventory.queries.orders import lines_of, order_money
from inventory.queries.suppliers import delivering, next_van, sold_by
from inventory.services.items import add_closure
from inventory.services.prices import set_budget, set_price
from inventory.services.reservations import release, reserve
from inventory.services.suppliers import (
    change_pack,
    change_supplier,
    drop_closure,
    note_deposit,
    retire_pack,
    retire_supplier,
    send_back,
)
from tests.builders.gallery import AT, a_person, a_showroom, an_owner
from tests.builders.orders import a_draft, a_line, a_pack, a_supplier, an_order
from tests.builders.stock import a_bottle, a_fertiliser

pytestmark = pytest.mark.django_db

CAN = Volume.l(5)
TODAY = date(2026, 3, 12)


@pytest.fixture
def trade() -> Supplier:
    return a_supplier(a_showroom(), delivery_weekdays="0100100")


@pytest.fixture
def fertiliser(trade: Supplier) -> Item:
    return a_fertiliser(trade.showroom)


@pytest.fixture
def can(trade: Supplier, fertiliser: Item) -> SupplierItem:
    return a_pack(trade, fertiliser, CAN, price_cents=3140)


# --- prices -------------------------------------------------------------------------------------
def test_each_price_stays_in_the_history_and_drafts_follow_the_new_one(
    trade: Supplier, fertiliser: Item, can: SupplierItem
) -> None:
    owner = an_owner(trade.showroom)
    sent = an_order(trade, (fertiliser, CAN, 1))
    draft = a_draft(trade)
    a_line(draft, fertiliser, CAN, 1)
    set_price(offer=can, price_cents=3300, by=owner, at=AT + timedelta(days=1))
    set_price(offer=can, price_cents=3300, by=owner, at=AT + timedelta(days=2))
    history = list(PriceSeen.objects.order_by("pk").values_list("price_cents", "from_on"))
    assert history == [(3140, TODAY), (3300, TODAY + timedelta(days=1))]
    assert [lines_of([o])[o.pk][0].price_cents for o in (sent, draft)] == [3140, 3300]


def test_only_the_owner_changes_a_price(trade: Supplier, can: SupplierItem) -> None:
    manager = a_person("manager", showroom=trade.showroom)
    with pytest.raises(Forbidden):
        set_price(offer=can, price_cents=1, by=manager, at=AT)


def test_a_price_of_an_earlier_day_goes_into_the_history_only(
    trade: Supplier, fertiliser: Item, can: SupplierItem
) -> None:
    owner = an_owner(trade.showroom)
    draft = a_draft(trade)
    a_line(draft, fertiliser, CAN, 1)
    before = TODAY - timedelta(days=30)
    for _ in range(2):
        offer = set_price(offer=can, price_cents=2990, by=owner, at=AT, from_on=before)
    assert offer.price_cents == 3140
    assert lines_of([draft])[draft.pk][0].price_cents == 3140
    history = PriceSeen.objects.order_by("from_on").values_list("price_cents", "from_on")
    assert list(history) == [(2990, before), (3140, TODAY)]
    # and one of today, after it, holds at once
    assert set_price(offer=can, price_cents=3200, by=owner, at=AT).price_cents == 3200
    assert lines_of([draft])[draft.pk][0].price_cents == 3200


def test_only_the_owner_sets_money_aside(trade: Supplier) -> None:
    manager = a_person("manager", showroom=trade.showroom)
    with pytest.raises(Forbidden):
        set_budget(showroom=trade.showroom, month_on=TODAY, amount_cents=1, by=manager, at=AT)


def test_money_set_aside_holds_for_its_month_and_says_what_is_over(
    trade: Supplier, fertiliser: Item, can: SupplierItem
) -> None:
    owner = an_owner(trade.showroom)
    set_budget(showroom=trade.showroom, month_on=TODAY, amount_cents=9000, by=owner, at=AT)
    set_budget(showroom=trade.showroom, month_on=TODAY, amount_cents=8000, by=owner, at=AT)
    an_order(trade, (fertiliser, CAN, 2))
    draft = a_draft(trade)
    a_line(draft, fertiliser, CAN, 1)
    money = order_money(PurchaseOrder.objects.get(pk=draft.pk))
    assert money.budget is not None
    assert (money.budget.cents, money.spent.cents, money.to_pay.cents) == (8000, 6280, 3140)
    assert money.over_budget is not None
    assert money.over_budget.cents == 1420


# --- suppliers ----------------------------------------------------------------------------------
def test_what_is_known_of_a_supplier_changes_with_a_trail(trade: Supplier) -> None:
    owner = an_owner(trade.showroom)
    changed = change_supplier(
        supplier=trade, stated_lead_days=9, email="orders@example.org", by=owner, at=AT
    )
    assert (changed.stated_lead_days, changed.email) == (9, "orders@example.org")


def test_a_change_of_a_supplier_is_one_piece_of_work_however_much_they_sell(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    wanted: list[tuple[str, str]] = []

    def want(_showroom: Showroom, kind: str, subject: str = "", **_when: Any) -> None:
        wanted.append((kind, subject))

    monkeypatch.setattr("inventory.services.suppliers.want_work", want)
    for packs in (1, 6):
        who = a_supplier(a_showroom())
        for _ in range(packs):
            a_pack(who, a_fertiliser(who.showroom), CAN)
        wanted.clear()
        change_supplier(supplier=who, stated_lead_days=9, by=an_owner(who.showroom), at=AT)
        assert wanted == [("supplier", f"supplier:{who.pk}"), ("reorder", "")]
        assert len(sold_by(who.showroom, f"supplier:{who.pk}")) == packs
        assert sold_by(a_showroom(), f"supplier:{who.pk}") == ()


def test_plants_travel_on_fewer_days_and_nobody_over_a_closure(trade: Supplier) -> None:
    owner = an_owner(trade.showroom)
    change_supplier(supplier=trade, living_weekdays="0001000", by=owner, at=AT)
    add_closure(supplier=trade, from_on=date(2026, 3, 13), to_on=date(2026, 3, 18), by=owner, at=AT)
    supplier = Supplier.objects.get(pk=trade.pk)
    vans = [next_van(delivering(supplier, living=living), TODAY) for living in (False, True)]
    assert vans == [date(2026, 3, 20), date(2026, 3, 19)]
    drop_closure(closure=SupplierClosure.objects.get(), by=owner, at=AT)
    assert next_van(delivering(Supplier.objects.get(pk=trade.pk)), TODAY) == date(2026, 3, 13)


def test_nobody_comes_from_a_supplier_without_a_delivery_day(trade: Supplier) -> None:
    silent = change_supplier(
        supplier=trade, delivery_weekdays="0000000", by=an_owner(trade.showroom), at=AT
    )
    assert next_van(delivering(silent), TODAY) is None


def test_a_pack_is_changed_and_retired_and_then_not_ordered(
    trade: Supplier, fertiliser: Item, can: SupplierItem
) -> None:
    owner = an_owner(trade.showroom)
    assert change_pack(offer=can, deposit_cents=500, by=owner, at=AT).deposit_cents == 500
    retire_pack(offer=can, by=owner, at=AT)
    with pytest.raises(Refused, match="does not sell"):
        a_line(a_draft(trade), fertiliser, CAN)


def test_a_supplier_with_an_open_order_is_not_retired(
    trade: Supplier, fertiliser: Item, can: SupplierItem
) -> None:
    owner = an_owner(trade.showroom)
    an_order(trade, (fertiliser, CAN, 1))
    with pytest.raises(Refused, match="Order 0001 to"):
        retire_supplier(supplier=trade, by=owner, at=AT)
    other = a_supplier(trade.showroom)
    retired = retire_supplier(supplier=other, by=owner, at=AT)
    assert retired.voided_at == AT
    with pytest.raises(Refused, match="not a supplier any more"):
        a_draft(retired)


# --- deposits and what goes back ----------------------------------------------------------------
def test_what_goes_back_leaves_the_books_and_brings_its_deposit(
    trade: Supplier, fertiliser: Item
) -> None:
    owner = an_owner(trade.showroom)
    bottle = a_bottle(fertiliser, supplier=trade)
    note_deposit(supplier=trade, amount_cents=200, reason="crate", by=owner, at=AT)
    send_back(
        container=bottle,
        supplier=trade,
        reason="leaks at the cap",
        deposit_back_cents=200,
        by=owner,
        at=AT,
    )
    bottle.refresh_from_db()
    assert (bottle.finished_on, balance_base(bottle)) == (TODAY, 0)
    back = Movement.objects.get(kind=MovementKind.RETURN)
    assert (back.amount_base, back.reason) == (-500_000, "leaks at the cap")
    assert sum(Deposit.objects.values_list("amount_cents", flat=True)) == 0


def test_the_same_deposit_sent_twice_is_noted_once_and_remembered(trade: Supplier) -> None:
    this = UUID("019590a1-0000-7000-8000-000000000001")
    for _ in range(2):
        note_deposit(
            supplier=trade,
            amount_cents=200,
            reason="crate",
            by=an_owner(trade.showroom),
            at=AT,
            action_id=this,
        )
    assert list(Deposit.objects.values_list("amount_cents", flat=True)) == [200]
    kept = AuditEntry.objects.get(deed="supplier.deposit")
    assert (kept.after["amount_cents"], kept.reason) == (200, "crate")


# --- spoken for ---------------------------------------------------------------------------------
def test_stock_is_spoken_for_until_it_is_released(trade: Supplier, fertiliser: Item) -> None:
    owner = an_owner(trade.showroom)
    row = reserve(
        item=fertiliser,
        amount=Volume.ml(300),
        needed_on=TODAY,
        for_what="T09, planting",
        by=owner,
        at=AT,
    )
    release(reservation=row, by=owner, at=AT)
    later = release(reservation=row, by=owner, at=AT + timedelta(days=1))
    assert (later.amount_base, later.released_at) == (300_000, AT)


# --- refused ------------------------------------------------------------------------------------
World = tuple[Supplier, Item, SupplierItem]


def _reserve(world: World, **changes: Any) -> Reservation:
    fields = {"amount": Volume.ml(1), "needed_on": TODAY, "for_what": "a class", **changes}
    return reserve(item=world[1], by=an_owner(world[0].showroom), at=AT, **fields)


def _change(world: World, **changes: Any) -> Supplier:
    return change_supplier(supplier=world[0], by=an_owner(world[0].showroom), at=AT, **changes)


BAD: dict[str, Callable[[World], object]] = {
    "price_below_0": lambda w: set_price(
        offer=w[2], price_cents=-1, by=an_owner(w[0].showroom), at=AT
    ),
    "price_ahead": lambda w: set_price(
        offer=w[2],
        price_cents=1,
        from_on=TODAY + timedelta(days=1),
        by=an_owner(w[0].showroom),
        at=AT,
    ),
    "no_lead": lambda w: _change(w, stated_lead_days=0),
    "long_lead": lambda w: _change(w, stated_lead_days=91),
    "long_claim": lambda w: _change(w, claim_hours=1441),
    "weekdays": lambda w: _change(w, delivery_weekdays="01"),
    "no_mail": lambda w: _change(w, email="orders at example"),
    "no_name": lambda w: _change(w, name=""),
    "strange_field": lambda w: _change(w, voided_at=AT),
    "no_deposit": lambda w: note_deposit(
        supplier=w[0], amount_cents=0, reason="", by=an_owner(w[0].showroom), at=AT
    ),
    "no_reason": lambda w: send_back(
        container=a_bottle(w[1]), supplier=w[0], reason=" ", by=an_owner(w[0].showroom), at=AT
    ),
    "day_over": lambda w: _reserve(w, needed_on=TODAY - timedelta(days=1)),
    "for_nothing": lambda w: _reserve(w, for_what=" "),
    "nothing_reserved": lambda w: _reserve(w, amount=Volume(0)),
    "other_unit": lambda w: _reserve(w, amount=Mass.g(1)),
}


@pytest.mark.parametrize(
    ("bad", "sentence"),
    [
        ("price_below_0", "Price: this is not allowed"),
        ("price_ahead", "From: 13 March 2026 lies ahead"),
        ("no_lead", "Days from order to van: 0 is not allowed"),
        ("long_lead", "Days from order to van: 91 is not allowed"),
        ("long_claim", "Hours for a claim: 1441 is not allowed"),
        ("weekdays", "Seven characters from Monday"),
        ("no_mail", "Enter a valid email address"),
        ("no_name", "Name: This field cannot be blank"),
        ("strange_field", "A supplier has no voided_at"),
        ("no_deposit", "Deposit: nothing was given"),
        ("no_reason", "Why does it go back? Nothing was given"),
        ("day_over", "Needed on: 11 March 2026 is over"),
        ("for_nothing", "For what? Nothing was given"),
        ("nothing_reserved", "Amount: 0 mL is not allowed"),
        ("other_unit", "is counted as a volume in mL or L"),
    ],
)
def test_what_cannot_be_is_refused_with_words(
    bad: str, sentence: str, trade: Supplier, fertiliser: Item, can: SupplierItem
) -> None:
    with pytest.raises(Refused) as no:
        BAD[bad]((trade, fertiliser, can))
    assert sentence in str(no.value)


def test_another_gallerys_people_change_nothing(trade: Supplier, can: SupplierItem) -> None:
    stranger = an_owner(a_showroom())
    for deed in (
        lambda: change_supplier(supplier=trade, name="x", by=stranger, at=AT),
        lambda: set_price(offer=can, price_cents=1, by=stranger, at=AT),
        lambda: retire_pack(offer=can, by=stranger, at=AT),
        lambda: retire_supplier(supplier=trade, by=stranger, at=AT),
    ):
        with pytest.raises(Unknown):
            deed()
