"""What is typed when stock or money is set aside, or a van came without an order."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import quantity
from gallery_ops.web.forms.days import a_day
from gallery_ops.web.forms.measuring import typed_amount
from gallery_ops.web.forms.orders import cents_or_none, whole_number
from inventory.models import Item, SupplierItem
from inventory.services.loose_receipts import LooseCame
from inventory.services.prices import set_budget
from inventory.services.reservations import reserve
from tanks.models import Tank

Typed = Mapping[str, str]
ROWS = 6


@dataclass(frozen=True, slots=True)
class Choices:
    """Items by code and tanks by code."""

    items: Mapping[str, Item]
    tanks: Mapping[str, Tank]


def set_stock_aside(typed: Typed, known: Choices, by: Membership, at: datetime) -> str:
    """Keep so much for something; what was done, as a sentence."""
    item = known.items.get(typed.get("item", ""))
    if item is None:
        raise Refused(
            "item_missing", _("What? Nothing was chosen."), {"item": _("One of the items.")}
        )
    code = typed.get("tank", "")
    if code and code not in known.tanks:
        raise Refused(
            "no_tank",
            _("Tank: there is no %(code)s here.") % {"code": code[:20]},
            {"tank": _("Choose one from the list, or none.")},
        )
    try:
        amount = typed_amount(typed.get("amount", ""), item.dimension, _("Amount"))
    except OutOfRange as no:
        raise Refused.from_range(no, field="amount") from None
    needed_on = a_day(typed.get("needed_on", ""), "needed_on", _("Needed on"))
    if needed_on is None:
        raise Refused(
            "day_missing",
            _("Needed on: which day?"),
            {"needed_on": _("Today or later, such as 2026-04-03.")},
        )
    reserve(
        item=item,
        amount=amount,
        needed_on=needed_on,
        for_what=typed.get("for_what", ""),
        tank=known.tanks.get(code),
        only_in_stock=typed.get("rest") != "bought",
        by=by,
        at=at,
    )
    return _("%(amount)s of %(name)s are set aside.") % {
        "amount": amount.text(item.showroom.decimal_mark),
        "name": item.name,
    }


def set_money_aside(typed: Typed, firsts: Collection[date], by: Membership, at: datetime) -> str:
    """Money for the orders of a month; the field is named after the month."""
    month = a_day(typed.get("month", ""), "month", _("Month"))
    if month not in firsts or month is None:
        raise Unknown("month")
    field = f"amount-{month:%Y-%m}"
    cents = cents_or_none(
        typed.get(field, ""), by.showroom.currency, field=field, label=_("Set aside")
    )
    if cents is None:
        raise Refused(
            "amount_missing",
            _("Set aside: nothing was given."),
            {field: _("Allowed: 0 or more; 0 if nothing may be ordered.")},
        )
    try:
        set_budget(showroom=by.showroom, month_on=month, amount_cents=cents, by=by, at=at)
    except Refused as no:
        fields = {field if name == "amount" else name: said for name, said in no.fields.items()}
        raise type(no)(no.code, no.sentence, fields, no.remedy) from None
    return _("Written down.")


def unordered(typed: Typed, offers: Collection[SupplierItem]) -> list[LooseCame]:
    """Rows in which a number was written. Raises Refused naming the field."""
    known = {f"{one.item.uid}:{one.pack_base}": one for one in offers}
    came = []
    for n in range(1, ROWS + 1):
        text, chosen = typed.get(f"packs-{n}", "").strip(), typed.get(f"pack-{n}", "")
        if not text:
            continue
        offer = known.get(chosen)
        if offer is None:
            raise Refused(
                "offer_missing",
                _("Row %(n)d: what came? Nothing was chosen.") % {"n": n},
                {f"pack-{n}": _("One of their packs.")},
                _("A pack that they did not sell before: add it on their page first."),
            )
        item = offer.item
        came.append(
            LooseCame(
                item=item,
                pack=quantity(item.dimension, offer.pack_base),
                packs=whole_number(text, field=f"packs-{n}", label=item.name),
                maker_lot=typed.get(f"lot-{n}", ""),
                expires_on=a_day(typed.get(f"best-{n}", ""), f"best-{n}", _("Best before")),
                field=f"packs-{n}",
            )
        )
    return came
