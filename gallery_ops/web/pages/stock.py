"""Stock: what runs out, what to order by when, and why it is said."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from gallery_ops.web.access import here, staff
from gallery_ops.web.middleware import Asked
from gallery_ops.web.stock_words import axis_of, lede, strip_row
from inventory.queries.stock_page import stock_page

WEEKS = (4, 8, 26)


@staff()
@require_GET
def stock_forecast(request: Asked) -> HttpResponse:
    """One time axis for all; rows by what must be done first."""
    weeks = _weeks(request.GET.get("weeks", ""))
    page = stock_page(
        here(request), request.at, days=7 * weeks, number=request.GET.get("page", "1")
    )
    first, second = lede(page)
    return render(
        request,
        "web/stock/forecast.html",
        {
            "stock": page,
            "page": page.page,
            "rows": [strip_row(row, page.today, request.at) for row in page.rows],
            "axis": axis_of(page, 7 * weeks),
            "weeks": weeks,
            "choices": WEEKS,
            "first": first,
            "second": second,
            "as_table": request.GET.get("as") == "table",
            "here": "stock",
        },
    )


def _weeks(text: str) -> int:
    return int(text) if text in {str(n) for n in WEEKS} else 8
