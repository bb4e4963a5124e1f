"""What is typed of a supplier, their packs, prices, closed days and deposits."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.money import Money, decimals
from gallery_ops.kernel.values.quantity import parse_quantity
from gallery_ops.overview.supplier_page import PackRow, SupplierPage
from gallery_ops.web.forms.orders import action_id_of, cents_or_none, take_back
from inventory.models import Supplier
from inventory.services import items, prices
from inventory.services import suppliers as service

WEEKDAYS = [
    ("0", gettext_lazy("Mon")),
    ("1", gettext_lazy("Tue")),
    ("2", gettext_lazy("Wed")),
    ("3", gettext_lazy("Thu")),
    ("4", gettext_lazy("Fri")),
    ("5", gettext_lazy("Sat")),
    ("6", gettext_lazy("Sun")),
]
LOOSE_UNIT = {"piece": "{piece}"}
Typed = Mapping[str, str]


class SupplierForm(forms.Form):
    """What is known of a supplier."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    delivery_weekdays = forms.MultipleChoiceField(
        label=gettext_lazy("Their van comes on"),
        choices=WEEKDAYS,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    living_weekdays = forms.MultipleChoiceField(
        label=gettext_lazy("Plants and animals travel on"),
        help_text=gettext_lazy("none chosen: as everything else. Leave out what ends in a weekend"),
        choices=WEEKDAYS,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    cut_off_at = forms.TimeField(
        label=gettext_lazy("Last hour for an order"),
        required=False,
        help_text=gettext_lazy("such as 14:00; later counts for the next day"),
        widget=forms.TimeInput(attrs={"autocomplete": "off"}, format="%H:%M"),
    )
    stated_lead_days = forms.IntegerField(
        label=gettext_lazy("Days from order to van, as they say"),
        min_value=1,
        max_value=service.LONGEST_LEAD_DAYS,
        help_text=gettext_lazy("1 to 90; what really happens is learned from their vans"),
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    min_order = forms.CharField(label=gettext_lazy("Smallest order"), required=False)
    carriage = forms.CharField(label=gettext_lazy("Carriage"), required=False)
    carriage_free_from = forms.CharField(
        label=gettext_lazy("Carriage falls away from"), required=False
    )
    claim_hours = forms.IntegerField(
        label=gettext_lazy("Claim within, hours"),
        required=False,
        min_value=1,
        max_value=service.LONGEST_CLAIM_HOURS,
        help_text=gettext_lazy("broken or dead on arrival"),
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    is_exchange = forms.BooleanField(
        label=gettext_lazy("Cylinders are exchanged, not refilled"), required=False
    )
    email = forms.EmailField(label=gettext_lazy("Mail for orders"), required=False)
    our_number = forms.CharField(
        label=gettext_lazy("They know us as"), max_length=40, required=False
    )
    contact_private = forms.CharField(
        label=gettext_lazy("Whom to ring"),
        max_length=200,
        required=False,
        help_text=gettext_lazy("name and number; never shown to visitors"),
    )

    MONEY = ("min_order", "carriage", "carriage_free_from")

    def __init__(self, *args: Any, currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.currency = currency
        for name in self.MONEY:
            self.fields[name].widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})
            self.fields[name].help_text = currency

    def fields_of_supplier(self) -> dict[str, Any]:
        """For the service; only after the form was found valid.

        Raises Refused for a price that is none.
        """
        data = self.cleaned_data
        cents = {
            name: cents_or_none(
                data[name], self.currency, field=name, label=str(self.fields[name].label)
            )
            for name in self.MONEY
        }
        living = data["living_weekdays"]
        return {
            "name": data["name"].strip(),
            "delivery_weekdays": marks(data["delivery_weekdays"]),
            "living_weekdays": marks(living) if living else "",
            "cut_off_at": data["cut_off_at"],
            "stated_lead_days": data["stated_lead_days"],
            "min_order_cents": cents["min_order"] or 0,
            "carriage_cents": cents["carriage"] or 0,
            "carriage_free_from_cents": cents["carriage_free_from"],
            "claim_hours": data["claim_hours"],
            "is_exchange": data["is_exchange"],
            "email": data["email"],
            "our_number": data["our_number"].strip(),
            "contact_private": data["contact_private"].strip(),
        }


def marks(chosen: list[str]) -> str:
    """Seven characters from Monday, 1 for yes."""
    return "".join("1" if str(day) in chosen else "0" for day in range(7))


def initial_of(supplier: Supplier, currency: str) -> dict[str, Any]:
    """What the form shows of a supplier."""

    def days(text: str) -> list[str]:
        return [str(n) for n, mark in enumerate(text) if mark == "1"]

    def money(cents: int | None) -> str:
        if not cents:
            return ""
        return Money(cents, currency).text().split(" ")[0]

    return {
        "name": supplier.name,
        "delivery_weekdays": days(supplier.delivery_weekdays),
        "living_weekdays": days(supplier.living_weekdays),
        "cut_off_at": supplier.cut_off_at,
        "stated_lead_days": supplier.stated_lead_days,
        "min_order": money(supplier.min_order_cents),
        "carriage": money(supplier.carriage_cents),
        "carriage_free_from": money(supplier.carriage_free_from_cents),
        "claim_hours": supplier.claim_hours,
        "is_exchange": supplier.is_exchange,
        "email": supplier.email,
        "our_number": supplier.our_number,
        "contact_private": supplier.contact_private,
    }


# --- deeds of the supplier's page ---------------------------------------------------------------
def do(deed: str, page: SupplierPage, typed: Typed, by: Membership, at: datetime) -> str:
    """Carry out one deed of the page; a sentence that says what was done. Raises Refused."""
    deeds: dict[str, Any] = {
        "pack": _pack,
        "price": _price,
        "retire_pack": _retire_pack,
        "closure": _closure,
        "drop_closure": _drop_closure,
        "deposit": _deposit,
        "send_back": _send_back,
        "retire": _retire,
        "take_back": _take_back,
    }
    if deed not in deeds:
        raise Refused("no_deed", _("Nothing was chosen."), remedy=_("Press one of the buttons."))
    said: str = deeds[deed](page, typed, by, at)
    return said


def _take_back(page: SupplierPage, typed: Typed, by: Membership, at: datetime) -> str:
    return take_back(page.loose, typed, by, at)


def _pack(page: SupplierPage, typed: Typed, by: Membership, at: datetime) -> str:
    found = [item for item in page.items if str(item.uid) == typed.get("item", "")]
    if not found:
        raise Refused(
            "item_missing", _("Of what? Nothing was chosen."), {"item": _("One of the items.")}
        )
    item = found[0]
    try:
        pack = parse_quantity(
            typed.get("pack", ""),
            item.dimension,
            field=_("One pack holds"),
            default=LOOSE_UNIT.get(item.dimension),
        )
    except OutOfRange as no:
        raise Refused.from_range(no, field="pack") from None
    currency = page.supplier.showroom.currency
    price = cents_or_none(typed.get("price", ""), currency, field="price", label=_("Price"))
    left = cents_or_none(typed.get("left", ""), currency, field="left", label=_("Deposit for each"))
    items.add_supplier_item(
        supplier=page.supplier,
        item=item,
        pack=pack,
        price_cents=price,
        deposit_cents=left or 0,
        how=typed.get("how", "buy"),
        their_code=typed.get("their_code", "")[:40],
        is_preferred=typed.get("first") == "yes",
        by=by,
        at=at,
    )
    return _("%(who)s sells %(what)s by %(pack)s.") % {
        "who": page.supplier.name,
        "what": item.name,
        "pack": pack.text(),
    }


def _price(page: SupplierPage, typed: Typed, by: Membership, at: datetime) -> str:
    row = _chosen(page, typed)
    key = f"price-{typed.get('number', '')}"
    currency = page.supplier.showroom.currency
    cents = cents_or_none(typed.get(key, ""), currency, field=key, label=_("Price"))
    if cents is None:
        raise Refused(
            "price_missing",
            _("Price: nothing was given."),
            {key: _("A number with up to %(n)d decimals.") % {"n": decimals(currency)}},
        )
    prices.set_price(offer=row.offer, price_cents=cents, by=by, at=at)
    return _("%(what)s has a new price; the one before stays in its history.") % {
        "what": row.offer.item.name
    }


def _retire_pack(page: SupplierPage, typed: Typed, by: Membership, at: datetime) -> str:
    row = _chosen(page, typed)
    service.retire_pack(offer=row.offer, by=by, at=at)
    return _("%(who)s sells %(what)s by %(pack)s no more.") % {
        "who": page.supplier.name,
        "what": row.offer.item.name,
        "pack": row.words,
    }


def _chosen(page: SupplierPage, typed: Typed) -> PackRow:
    found = [row for row in page.packs if row.name == typed.get("offer", "")]
    if not found:
        raise Refused(
            "pack_missing", _("Which pack? Nothing was chosen."), {"offer": _("One of theirs.")}
        )
    return found[0]


def _day(typed: Typed, field: str, label: str) -> date:
    text = typed.get(field, "").strip()
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Refused(
            "no_day",
            _("%(label)s: “%(text)s” is no day.") % {"label": label, "text": text[:20]},
            {field: _("Write it as 2026-04-03.")},
        ) from None


def _closure(page: SupplierPage, typed: Typed, by: Membership, at: datetime) -> str:
    first = _day(typed, "from_on", _("Closed from"))
    until = _day(typed, "to_on", _("Open again on"))
    if until <= first:
        raise Refused(
            "closure_ends",
            _("Open again on: this lies before it closes."),
            {"to_on": _("A day after %(on)s.") % {"on": first.isoformat()}},
        )
    items.add_closure(supplier=page.supplier, from_on=first, to_on=until, by=by, at=at)
    return _("Written down. Order-by dates are worked out again.")


def _drop_closure(page: SupplierPage, typed: Typed, by: Membership, at: datetime) -> str:
    found = [c for c in page.closures if c.from_on.isoformat() == typed.get("from_on", "")]
    if not found:
        raise Refused(
            "closure_missing", _("Which days? Nothing was chosen."), {"from_on": _("One of them.")}
        )
    service.drop_closure(closure=found[0], by=by, at=at)
    return _("They are open on these days.")


def _deposit(page: SupplierPage, typed: Typed, by: Membership, at: datetime) -> str:
    currency = page.supplier.showroom.currency
    cents = cents_or_none(typed.get("amount", ""), currency, field="amount", label=_("Deposit"))
    sign = -1 if typed.get("way") == "back" else 1
    service.note_deposit(
        supplier=page.supplier,
        amount_cents=sign * (cents or 0),
        reason=typed.get("reason", "")[:200],
        action_id=action_id_of(typed.get("action_id", "")),
        by=by,
        at=at,
    )
    return _("The deposit is written down.")


def _send_back(page: SupplierPage, typed: Typed, by: Membership, at: datetime) -> str:
    found = [row for row in page.here if row.code == typed.get("container", "")]
    if not found:
        raise Refused(
            "container_missing",
            _("What goes back? Nothing was chosen."),
            {"container": _("One of theirs that is here.")},
        )
    currency = page.supplier.showroom.currency
    cents = cents_or_none(
        typed.get("back", ""), currency, field="back", label=_("Deposit that comes back")
    )
    service.send_back(
        container=found[0],
        supplier=page.supplier,
        reason=typed.get("why", ""),
        deposit_back_cents=cents or 0,
        by=by,
        at=at,
    )
    return _("%(what)s left the house.") % {"what": found[0]}


def _retire(page: SupplierPage, typed: Typed, by: Membership, at: datetime) -> str:  # noqa: ARG001
    service.retire_supplier(supplier=page.supplier, by=by, at=at)
    return _("%(who)s delivers no more.") % {"who": page.supplier.name}
