"""Orders: what is drafted, what is to come, the letter that is sent."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods

from gallery_ops.kernel.errors import Forbidden, Refused
from gallery_ops.kernel.rights import may
from gallery_ops.overview.order_page import OrderList, OrderPage, order_list, order_page
from gallery_ops.web import words
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.forms.orders import do
from gallery_ops.web.middleware import Asked
from inventory.queries.packs import pack_words
from inventory.queries.suppliers import supplier_of, suppliers
from inventory.services.orders import draft_order


@staff()
@require_http_methods(["GET", "POST"])
def order_page_list(request: Asked) -> HttpResponse:
    """All orders; a new draft is begun here."""
    trouble: Refused | None = None
    if request.method == "POST":
        try:
            return _begin(request)
        except Forbidden:
            raise
        except Refused as no:
            trouble = no
    found = order_list(here(request), request.at, request.GET.get("page", "1"))
    first, second = _lede(found, request)
    return render(
        request,
        "web/orders/list.html",
        {
            "found": found,
            "first": first,
            "second": second,
            "suppliers": suppliers(here(request)),
            "may_change": may(acting(request), "plan.change"),
            "trouble": trouble,
            "here": "stock",
        },
        status=422 if trouble else 200,
    )


def _begin(request: Asked) -> HttpResponse:
    chosen = request.POST.get("supplier", "")
    try:
        uid = UUID(chosen)
    except ValueError:
        raise Refused(
            "supplier_missing",
            _("To whom? Nothing was chosen."),
            {"supplier": _("One of the suppliers.")},
        ) from None
    supplier = supplier_of(here(request), uid)
    order = draft_order(supplier=supplier, by=acting(request), at=request.at)
    return redirect("order_detail", uid=order.uid)


@staff()
@require_http_methods(["GET", "POST"])
def order_detail(request: Asked, uid: UUID) -> HttpResponse:
    """One order and its deeds; what was typed stays when something is refused."""
    page = order_page(here(request), uid, request.at)
    trouble: Refused | None = None
    deed = request.POST.get("deed", "")
    if request.method == "POST":
        typed = {key: str(value) for key, value in request.POST.items()}
        try:
            said = do(deed, page, typed, acting(request), request.at)
        except Forbidden:
            raise
        except Refused as no:
            trouble = no
        else:
            messages.success(request, said)
            return redirect("order_list") if deed == "drop" else redirect("order_detail", uid=uid)
    return render(
        request,
        "web/orders/detail.html",
        {**_shown(request, page), "trouble": trouble, "deed": deed, "typed": request.POST},
        status=422 if trouble else 200,
    )


@staff()
@require_GET
def order_letter(request: Asked, uid: UUID) -> HttpResponse:
    """The letter alone, to be printed."""
    page = order_page(here(request), uid, request.at)
    return render(request, "web/orders/letter.html", {"page": page, "here": "stock"})


def _shown(request: Asked, page: OrderPage) -> dict[str, Any]:
    order = page.order
    mark = order.showroom.decimal_mark
    first, second = _order_lede(page, request)
    mail = f"mailto:{quote(order.supplier.email)}?subject={quote(page.subject)}"
    return {
        "page": page,
        "order": order,
        "supplier": order.supplier,
        "first": first,
        "second": second,
        "rows": [
            (view, request.POST.get(f"packs-{view.line.uid}", str(view.line.packs)))
            for view in page.lines
        ],
        "offers": [
            (
                f"{offer.item.uid}:{offer.pack_base}",
                f"{offer.item.name}, {pack_words(offer.item, offer.pack_base, 1, mark=mark)}",
            )
            for offer in page.offers
        ],
        "mail": f"{mail}&body={quote(page.letter)}",
        "may_change": may(acting(request), "plan.change"),
        "may_receive": may(acting(request), "record"),
        "here": "stock",
    }


# --- in words -----------------------------------------------------------------------------------
def _lede(found: OrderList, request: Asked) -> tuple[str, str]:
    today = words.local(request.at).date()
    drafts = ngettext("%d draft.", "%d drafts.", len(found.drafts)) % len(found.drafts)
    if not found.coming:
        return _("Nothing is on order."), drafts if found.drafts else ""
    late = [row for row in found.coming if row.expected and row.expected[1] is None]
    if late:
        first = ngettext(
            "%d order should have come: ring them.",
            "%d orders should have come: ring them.",
            len(late),
        ) % len(late)
    else:
        soon = found.coming[0]
        until = soon.expected[1] if soon.expected else None
        first = _("%(who)s comes next, by %(on)s.") % {
            "who": soon.order.supplier.name,
            "on": words.day(until, today) if until else "",
        }
    second = ngettext("%d order is to come.", "%d orders are to come.", len(found.coming)) % len(
        found.coming
    )
    return first, f"{second} {drafts}" if found.drafts else second


def _order_lede(page: OrderPage, request: Asked) -> tuple[str, str]:
    order = page.order
    today = words.local(request.at).date()
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
    if first == until:
        return _("%(packs)s, likely %(on)s.") % {"packs": packs, "on": words.day(first, today)}, ""
    return (
        _("%(packs)s, likely between %(from)s and %(to)s.")
        % {"packs": packs, "from": words.day(first, today), "to": words.day(until, today)},
        "",
    )
