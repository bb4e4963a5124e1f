"""What is drafted, to come or late, in a sentence."""

from __future__ import annotations

from datetime import date, datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.overview.order_page import OrderList, OrderPage
from gallery_ops.web import words


def lede(found: OrderList, at: datetime) -> tuple[str, str]:
    """Who comes next, or who is late; and how much there is beside it."""
    drafts = ngettext("%d draft.", "%d drafts.", len(found.drafts)) % len(found.drafts)
    if not found.coming:
        return _("Nothing is on order."), drafts if found.drafts else ""
    n = len(found.coming)
    second = ngettext("%d order is to come.", "%d orders are to come.", n) % n
    return _next(found, at), f"{second} {drafts}" if found.drafts else second


def _next(found: OrderList, at: datetime) -> str:
    late = sum(1 for row in found.coming if row.expected and row.expected[1] is None)
    if late:
        words_ = ngettext(
            "%d order should have come: ring them.",
            "%d orders should have come: ring them.",
            late,
        )
        return words_ % late
    soon, today = found.coming[0], words.local(at).date()
    first, until = soon.expected or (today, today)
    return _("%(who)s comes next, %(when)s.") % {
        "who": soon.order.supplier.name,
        "when": between(first, until or first, today),
    }


def between(first: date, until: date, today: date) -> str:
    """On a day, or between two."""
    if first == until:
        return words.day(first, today)
    return _("between %(from)s and %(to)s") % {
        "from": words.day(first, today),
        "to": words.day(until, today),
    }


def order_lede(page: OrderPage, at: datetime) -> tuple[str, str]:
    """What one order is waiting for."""
    order = page.order
    today = words.local(at).date()
    if order.state == "draft":
        if not page.lines:
            return _("An empty draft to %(who)s.") % {"who": order.supplier.name}, ""
        return (
            _("A draft to %(who)s for %(sum)s.")
            % {"who": order.supplier.name, "sum": words.money(page.money.to_pay)},
            _("Nothing of it is on order yet."),
        )
    if order.state == "closed":
        return _("Order %(order)s is closed.") % {"order": order}, _("Nothing of it is to come.")
    packs = ngettext("%d pack is to come", "%d packs are to come", page.to_come) % page.to_come
    if page.expected is None:
        return f"{packs}.", ""
    first, until = page.expected
    if until is None:
        return (
            _("%(packs)s, and late: ring %(who)s.") % {"packs": packs, "who": order.supplier.name},
            _("Their next van is %(on)s; whether it is on it, they know.")
            % {"on": words.day(first, today)},
        )
    when = between(first, until, today)
    return _("%(packs)s, likely %(when)s.") % {"packs": packs, "when": when}, ""
