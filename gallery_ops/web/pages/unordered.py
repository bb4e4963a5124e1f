"""A van came with something that stands on no order."""

from __future__ import annotations

from uuid import UUID, uuid4

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.overview.unordered_page import unordered_page
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import attempt
from gallery_ops.web.forms.orders import action_id_of
from gallery_ops.web.forms.set_aside import ROWS, unordered
from gallery_ops.web.middleware import Asked
from inventory.queries.packs import pack_words
from inventory.services.loose_receipts import receive_unordered


@staff("record")
@require_http_methods(["GET", "POST"])
def supplier_receipt(request: Asked, uid: UUID) -> HttpResponse:
    """A few rows: what came, how many, what is printed on them."""
    page = unordered_page(here(request), uid)
    typed = {key: str(value) for key, value in request.POST.items()}
    action_id = action_id_of(typed.get("action_id", "")) or uuid4()
    trouble = None
    if request.method == "POST":
        trouble = attempt(
            lambda: receive_unordered(
                supplier=page.supplier,
                came=unordered(typed, page.offers),
                delivery_note=typed.get("delivery_note", ""),
                action_id=action_id,
                by=acting(request),
                at=request.at,
            )
        )
        if trouble is None:
            messages.success(request, _("Written down. Labels can be printed now."))
            return redirect("supplier_detail", uid=uid)
    mark = here(request).decimal_mark
    return render(
        request,
        "web/orders/unordered.html",
        {
            "supplier": page.supplier,
            "open": page.open_orders,
            "offers": [
                (
                    f"{one.item.uid}:{one.pack_base}",
                    f"{one.item.name}, {pack_words(one.item, one.pack_base, 1, mark=mark)}",
                )
                for one in page.offers
            ],
            "rows": [
                {
                    "n": n,
                    **{
                        name: typed.get(f"{name}-{n}", "")
                        for name in ("pack", "packs", "lot", "best")
                    },
                }
                for n in range(1, ROWS + 1)
            ],
            "note": typed.get("delivery_note", ""),
            "action_id": action_id,
            "trouble": trouble,
            "here": "stock",
        },
        status=422 if trouble else 200,
    )
