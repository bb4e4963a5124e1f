"""What is typed on the page of an order, read as people write it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.money import Money
from gallery_ops.kernel.values.quantity import quantity
from gallery_ops.overview.order_page import OrderPage
from inventory.models import GoodsReceipt
from inventory.services import orders, remainders
from inventory.services.order_lines import LineSaid, set_lines
from inventory.services.receipt_back import take_back_receipt

Typed = Mapping[str, str]


def action_id_of(text: str) -> UUID | None:
    """What names this filling in of a form, so that it counts once; None where it says nothing."""
    try:
        return UUID(text)
    except ValueError:
        return None


def whole_number(text: str, *, field: str, label: str, most: int = 10_000) -> int:
    """A number of pieces that a person wrote. Raises Refused with the name of its field."""
    plain = text.strip()
    allowed = {field: _("Allowed: 0 to %(most)s.") % {"most": f"{most:,}"}}
    if not (plain.isascii() and plain.isdigit() and len(plain) <= 6):
        raise Refused(
            "no_number",
            _("%(label)s: “%(text)s” is no whole number.") % {"label": label, "text": plain[:20]},
            allowed,
            _("Write digits only."),
        )
    if int(plain) > most:
        raise Refused(
            "out_of_range",
            _("%(label)s: %(n)s is not allowed.") % {"label": label, "n": f"{int(plain):,}"},
            allowed,
            _("Check the number."),
        )
    return int(plain)


def day_or_none(text: str, *, field: str) -> date | None:
    """A day as the list of vans gives it; empty is none."""
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise Refused(
            "no_day",
            _("Van: “%(text)s” is no day.") % {"text": text[:20]},
            {field: _("Choose one from the list.")},
        ) from None


def cents_or_none(text: str, currency: str, *, field: str, label: str) -> int | None:
    """A price that a person wrote, without its sign; empty is none."""
    if not text.strip():
        return None
    try:
        money = Money.parse(text, currency, field=label)
    except OutOfRange as no:
        raise Refused.from_range(no, field=field) from None
    if money.cents < 0:
        raise Refused(
            "below_nothing",
            _("%(label)s: less than nothing.") % {"label": label},
            {field: _("Allowed: 0 or more.")},
        )
    return money.cents


def do(deed: str, page: OrderPage, typed: Typed, by: Membership, at: datetime) -> str:
    """Carry out one deed of the page; a sentence that says what was done.

    Raises Refused as the services do, with the names of the page's fields.
    """
    deeds: dict[str, Any] = {
        "lines": _lines,
        "add": _add,
        "sent": _sent,
        "drop": _drop,
        "not_wanted": _not_wanted,
        "cancel": _cancel,
        "take_back": _take_back,
    }
    if deed not in deeds:
        raise Refused("no_deed", _("Nothing was chosen."), remedy=_("Press one of the buttons."))
    said: str = deeds[deed](page, typed, by, at)
    return said


def _lines(page: OrderPage, typed: Typed, by: Membership, at: datetime) -> str:
    """Numbers, van, sentence and carriage; a number of 0 takes the line off."""
    order = page.order
    wanted = [
        LineSaid(view.line, whole_number(typed[key], field=key, label=view.line.item.name))
        for view in page.lines
        if (key := f"packs-{view.line.uid}") in typed
    ]
    set_lines(
        order=order,
        lines=wanted,
        wanted_on=day_or_none(typed.get("wanted_on", ""), field="wanted_on"),
        note=typed.get("note", ""),
        carriage_cents=cents_or_none(
            typed.get("carriage", ""),
            order.showroom.currency,
            field="carriage",
            label=_("Carriage"),
        ),
        by=by,
        at=at,
    )
    return _("Order %(order)s is written down. It is on order only when you say it is sent.") % {
        "order": order
    }


def _add(page: OrderPage, typed: Typed, by: Membership, at: datetime) -> str:
    chosen = typed.get("offer", "")
    found = [o for o in page.offers if f"{o.item.uid}:{o.pack_base}" == chosen]
    if not found:
        raise Refused(
            "offer_missing",
            _("What? Nothing was chosen."),
            {"offer": _("One of the packs that %(name)s sells.") % {"name": page.order.supplier}},
        )
    packs = whole_number(typed.get("packs", ""), field="packs", label=_("Packs"))
    item = found[0].item
    pack = quantity(item.dimension, found[0].pack_base)
    orders.set_line(order=page.order, item=item, pack=pack, packs=packs, by=by, at=at)
    return _("%(name)s stands on the order.") % {"name": item.name}


def _sent(page: OrderPage, typed: Typed, by: Membership, at: datetime) -> str:  # noqa: ARG001
    orders.send_order(order=page.order, by=by, at=at)
    return _("Order %(order)s is on order.") % {"order": page.order}


def _drop(page: OrderPage, typed: Typed, by: Membership, at: datetime) -> str:  # noqa: ARG001
    orders.drop_draft(order=page.order, by=by, at=at)
    return _("Order %(order)s was dropped; its number stays used.") % {"order": page.order}


def _not_wanted(page: OrderPage, typed: Typed, by: Membership, at: datetime) -> str:
    found = [view for view in page.lines if str(view.line.uid) == typed.get("line", "")]
    if not found:
        raise Refused(
            "line_missing", _("Which line? Nothing was chosen."), {"line": _("One of the lines.")}
        )
    remainders.not_wanted(line=found[0].line, by=by, at=at)
    return _("%(name)s is not wanted any more. Ring %(who)s: they do not know yet.") % {
        "name": found[0].line.item.name,
        "who": page.order.supplier.name,
    }


def _cancel(page: OrderPage, typed: Typed, by: Membership, at: datetime) -> str:
    remainders.cancel_order(order=page.order, told=typed.get("told") == "yes", by=by, at=at)
    return _("Nothing of order %(order)s is to come any more.") % {"order": page.order}


def _take_back(page: OrderPage, typed: Typed, by: Membership, at: datetime) -> str:
    return take_back((view.receipt for view in page.receipts), typed, by, at)


def take_back(receipts: Iterable[GoodsReceipt], typed: Typed, by: Membership, at: datetime) -> str:
    """One of these vans was written down by mistake."""
    found = [one for one in receipts if str(one.uid) == typed.get("receipt", "")]
    if not found:
        raise Refused(
            "receipt_missing", _("Which van? Nothing was chosen."), {"receipt": _("One of these.")}
        )
    take_back_receipt(receipt=found[0], reason=typed.get("reason", ""), by=by, at=at)
    if found[0].order is None:
        return _("The van is taken back: nothing of it is booked any more.")
    return _(
        "The van is taken back: nothing of it is booked, and what it brought is to come again."
    )
