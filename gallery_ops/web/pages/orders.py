"""Orders: what is drafted, what is to come, the letter that is sent."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.rights import may
from gallery_ops.overview.add_to_order import Added, add_to_order
from gallery_ops.overview.order_page import OrderPage, order_list, order_page
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import attempt, deed_of
from gallery_ops.web.forms.orders import do
from gallery_ops.web.middleware import Asked
from gallery_ops.web.order_words import lede, order_lede
from gallery_ops.web.pages.claim_photo import keep_claim_photo
from inventory.queries.packs import pack_words
from inventory.queries.suppliers import supplier_of, suppliers
from inventory.services.orders import draft_order


@staff()
@require_http_methods(["GET", "POST"])
def order_page_list(request: Asked) -> HttpResponse:
    """All orders; a new draft is begun here."""
    begun: list[UUID] = []
    trouble = attempt(lambda: _begin(request, begun)) if request.method == "POST" else None
    if begun:
        return redirect("order_detail", uid=begun[0])
    found = order_list(here(request), request.at, request.GET.get("page", "1"))
    first, second = lede(found, request.at)
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


def _begin(request: Asked, begun: list[UUID]) -> None:
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
    begun.append(draft_order(supplier=supplier, by=acting(request), at=request.at).uid)


@staff("plan.change")
@require_POST
def item_order(request: Asked, code: str) -> HttpResponse:
    """A thing that runs out goes on the draft to whoever sells it; back to where it was pressed."""
    found: list[Added] = []
    trouble = attempt(
        lambda: found.append(add_to_order(code=code, by=acting(request), at=request.at))
    )
    if trouble is not None:
        messages.error(request, str(trouble))
        return redirect("stock_forecast")
    added = found[0]
    said = (
        _("%(name)s stands on order %(order)s already.")
        if added.was_there
        else _("%(packs)s × %(name)s: on order %(order)s, a draft.")
    )
    messages.success(
        request,
        said % {"packs": added.line.packs, "name": added.line.item.name, "order": added.order},
    )
    return redirect("stock_forecast")


@staff()
@require_http_methods(["GET", "POST"])
def order_detail(request: Asked, uid: UUID) -> HttpResponse:
    """One order and its deeds; what was typed stays when something is refused."""
    page = order_page(here(request), uid, request.at)
    deed = deed_of(request, lambda name, typed: _deed(request, page, name, typed))
    if deed.is_done:
        return redirect("order_list") if deed.name == "drop" else redirect("order_detail", uid=uid)
    return render(
        request,
        "web/orders/detail.html",
        {
            **_shown(request, page),
            "trouble": deed.trouble,
            "deed": deed.name,
            "typed": request.POST,
        },
        status=deed.status,
    )


def _deed(request: Asked, page: OrderPage, name: str, typed: dict[str, str]) -> str:
    if name == "photo":
        return keep_claim_photo(request, page, typed)
    return do(name, page, typed, acting(request), request.at)


@staff()
@require_GET
def order_letter(request: Asked, uid: UUID) -> HttpResponse:
    """The letter alone, to be printed."""
    page = order_page(here(request), uid, request.at)
    return render(request, "web/orders/letter.html", {"page": page, "here": "stock"})


def _shown(request: Asked, page: OrderPage) -> dict[str, Any]:
    order = page.order
    mark = order.showroom.decimal_mark
    first, second = order_lede(page, request.at)
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
        "may_correct": may(acting(request), "correct"),
        "here": "stock",
    }
