"""One container: what is left, how that is known, and what can be done with it. Its labels."""

from __future__ import annotations

from itertools import islice
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from gallery_ops.drawing import Axis
from gallery_ops.kernel.rights import may
from gallery_ops.kernel.values.codes import printed
from gallery_ops.kernel.values.quantity import Mass
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.forms.container import do
from gallery_ops.web.middleware import Asked
from gallery_ops.web.pages.label import public_base
from gallery_ops.web.qr import square_svg
from gallery_ops.web.stock_words import strip_row
from inventory.queries.container_labels import labels
from inventory.queries.container_page import ContainerPage, container_page
from inventory.queries.stock_page import axis_days

AXIS_DAYS = 56
UNIT_WORDS = {"volume": "mL", "mass": "g", "piece": "pcs"}
PER_SHEET = 12
SHEETS_PER_PAGE = 5


@staff()
@require_http_methods(["GET", "POST"])
def container_detail(request: Asked, code: str) -> HttpResponse:
    """The page and its deeds; what was typed stays when something is refused."""
    page = container_page(here(request), code, request.at, entries=request.GET.get("entries", "1"))
    deed = deed_of(request, lambda name, typed: do(name, page, typed, acting(request), request.at))
    if deed.is_done:
        return redirect("container_detail", code=page.container.code)
    context = _shown(request, page)
    return render(
        request,
        "web/stock/container.html",
        {
            **context,
            "trouble": deed.trouble,
            "deed": deed.name,
            "typed": request.POST,
            "id_start": f"{deed.name}_",
        },
        status=deed.status,
    )


def _shown(request: Asked, page: ContainerPage) -> dict[str, Any]:
    one = page.container
    strip = axis = None
    if page.line is not None:
        deliveries, closures = axis_days(here(request), page.today, AXIS_DAYS)
        axis = Axis(page.today, AXIS_DAYS, deliveries, closures)
        strip = strip_row(page.line, page.today, request.at)
    return {
        "page": page,
        "one": one,
        "name": _name(page),
        "row": page.row,
        "item": one.item,
        "strip": strip,
        "axis": axis,
        "printed": printed(one.code),
        "is_gas": one.kind == "cylinder",
        "tare": Mass(one.tare_mg) if one.tare_mg is not None else None,
        "unit": UNIT_WORDS[one.item.dimension],
        "ways_out": [
            ("empty", _("it is empty")),
            ("waste", _("thrown away")),
            ("expiry", _("went off")),
            ("return", _("goes back to the supplier")),
        ],
        "may_record": may(acting(request), "record") and one.finished_on is None,
        "may_correct": may(acting(request), "correct"),
        "here": "stock",
    }


def _name(page: ContainerPage) -> str:
    """A cylinder in use is called by its tanks, all else by its own name."""
    name = page.row.name
    return name[:1].upper() + name[1:]


@staff()
@require_GET
def container_labels(request: Asked) -> HttpResponse:
    """Labels of the containers named by ?container=, of one ?item=, or of all that are here."""
    wanted = request.GET.getlist("container")
    item = request.GET.get("item", "")
    found = labels(here(request), wanted, item)
    page = Paginator(found, PER_SHEET * SHEETS_PER_PAGE).get_page(request.GET.get("page"))
    base = public_base(request)
    rows = [
        {
            "one": one,
            "printed": printed(one.code),
            "tare": Mass(one.tare_mg) if one.tare_mg is not None else None,
            "square": square_svg(f"{base}{reverse('container_detail', args=[one.code])}"),
        }
        for one in page
    ]
    named = {one.code for one in page}
    return render(
        request,
        "web/label/containers.html",
        {
            "page": page,
            "sheets": list(_sheets(rows)),
            "unknown": [code for code in wanted if code.replace(" ", "").upper() not in named],
            "here": "stock",
        },
    )


def _sheets(rows: list[dict[str, Any]]) -> Any:
    left = iter(rows)
    while sheet := list(islice(left, PER_SHEET)):
        yield sheet
