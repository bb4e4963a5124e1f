"""Stock: what runs out, what to order by when, and why it is said. One item, whole."""

from __future__ import annotations

from decimal import Decimal

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from gallery_ops.drawing import Axis
from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.rights import may
from gallery_ops.kernel.values.text import parse_decimal
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import attempt
from gallery_ops.web.middleware import Asked
from gallery_ops.web.stock_words import axis_of, item_lede, lede, strip_row
from gallery_ops.web.use_chart import use_chart
from gallery_ops.web.words import WEEKDAYS, mark_in_use
from inventory.queries.stock_item import ItemPage, item_page
from inventory.queries.stock_page import axis_days, stock_page
from inventory.services.item_changes import set_density

WEEKS = (4, 8, 26)
AXIS_DAYS = 56


@staff()
@require_GET
def stock_forecast(request: Asked) -> HttpResponse:
    """One time axis for all; rows by what must be done first."""
    weeks = _weeks(request.GET.get("weeks", ""))
    as_table = request.GET.get("as") == "table"
    page = stock_page(
        here(request), request.at, days=7 * weeks, number=request.GET.get("page", "1")
    )
    first, second = lede(page)
    kept: dict[str, str] = {"weeks": str(weeks)} if weeks != 8 else {}
    if as_table:
        kept["as"] = "table"
    return render(
        request,
        "web/stock/forecast.html",
        {
            "stock": page,
            "page": page.page,
            "query": f"&{urlencode(kept)}" if kept else "",
            "rows": [strip_row(row, page.today, request.at, 7 * weeks) for row in page.rows],
            "axis": axis_of(page, 7 * weeks),
            "weeks": weeks,
            "choices": WEEKS,
            "first": first,
            "second": second,
            "as_table": as_table,
            "may_change": may(acting(request), "plan.change"),
            "here": "stock",
        },
    )


def _weeks(text: str) -> int:
    return int(text) if text in {str(n) for n in WEEKS} else 8


@staff()
@require_http_methods(["GET", "POST"])
def stock_item(request: Asked, code: str) -> HttpResponse:
    """One item: its containers in the order in which they are used, and where it came and went."""
    page = item_page(
        here(request),
        code,
        request.at,
        number=request.GET.get("page", "1"),
        entries=request.GET.get("entries", "1"),
    )
    trouble: Refused | None = None
    if request.method == "POST":
        trouble = attempt(lambda: _set_density(request, page), "density")
        if trouble is None:
            messages.success(request, _("Density written down."))
            return redirect("stock_item", code=page.item.code)
    return render(
        request,
        "web/stock/item.html",
        {**_shown(request, page), "trouble": trouble, "typed": request.POST.get("density", "")},
        status=422 if trouble else 200,
    )


def _shown(request: Asked, page: ItemPage) -> dict[str, object]:
    deliveries, closures = axis_days(here(request), page.today, AXIS_DAYS)
    rows = [strip_row(row, page.today, request.at) for row in page.lines]
    return {
        "page": page,
        "item": page.item,
        "rows": rows,
        "lede": item_lede(page, rows),
        "axis": Axis(page.today, AXIS_DAYS, deliveries, closures),
        "chart": use_chart(page.days),
        "offers": [
            {
                "supplier": offer.supplier,
                "pack": offer.pack,
                "lead_days": offer.lead_days,
                "is_first": offer.is_first,
                "days": ", ".join(_(WEEKDAYS[n])[:3] for n in offer.weekdays),
            }
            for offer in page.offers
        ],
        "density": Decimal(page.item.density_mg_per_ml) / 1000,
        "may_correct": may(acting(request), "correct"),
        "here": "stock",
    }


def _set_density(request: Asked, page: ItemPage) -> None:
    typed = request.POST.get("density", "").removesuffix("g/mL")
    exact = parse_decimal(typed, field=_("Density"), mark=mark_in_use()) * 1000
    set_density(item=page.item, mg_per_ml=round(exact), by=acting(request), at=request.at)
