"""The labels beside the glass, in real millimetres, and what is missing before they are printed."""

from __future__ import annotations

from itertools import islice
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.rights import may, require
from gallery_ops.kernel.values.codes import printed
from gallery_ops.overview.labels import Label, labels, tanks_without_code
from gallery_ops.overview.spec_of import supported
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked
from gallery_ops.web.qr import square_svg
from tanks.services.publishing import give_public_code

PER_SHEET = {"a6": 4, "a5": 2, "strip": 6}
SHEETS_PER_PAGE = 10
LOOPBACK = {"localhost", "127.0.0.1", "::1"}


@staff()
@require_http_methods(["GET", "HEAD", "POST"])
def label_sheet(request: Asked) -> HttpResponse:
    """Labels of the tanks named by ?tank=, or of all; A6 unless ?size= says A5 or strip."""
    wanted = request.GET.getlist("tank")
    if request.method == "POST":
        return _give_codes(request, wanted)
    size = request.GET.get("size", "a6")
    size = size if size in PER_SHEET else "a6"
    found = labels(here(request), request.at, wanted)
    named = {label.tank_code.upper() for label in found}
    printable = [label for label in found if label.code]
    page = Paginator(printable, PER_SHEET[size] * SHEETS_PER_PAGE).get_page(request.GET.get("page"))
    base = public_base(request)
    host = urlsplit(base)
    counts = [label.words for label in printable if label.text]
    context: dict[str, Any] = {
        "sheets": list(_sheets([_on_paper(label, base) for label in page], PER_SHEET[size])),
        "page": page,
        "found": found,
        "missing": [label for label in found if label.missing],
        "unknown": [code for code in wanted if code.strip() and code.strip().upper() not in named],
        "without_code": sum(1 for label in found if not label.code),
        "may_give": may(acting(request), "plan.change"),
        "least": min(counts, default=0),
        "most": max(counts, default=0),
        "size": size,
        "sizes": [(key, name, _href(request, key)) for key, name in _names()],
        "size_name": dict(_names())[size],
        "own": supported(here(request).language),
        "short_address": f"{host.netloc}{host.path}{reverse('public_enter')}".rstrip("/"),
        "is_loopback": host.hostname in LOOPBACK,
        "here": "tanks",
    }
    return render(request, "web/label/sheet.html", context)


def public_base(request: Asked) -> str:
    """Where visitors reach this gallery, without a stroke at the end: as set, else as asked now."""
    return settings.PUBLIC_URL or request.build_absolute_uri("/").rstrip("/")


def _on_paper(label: Label, base: str) -> dict[str, Any]:
    address = f"{base}{reverse('public_tank', args=[label.code])}"
    return {"label": label, "square": square_svg(address), "printed": printed(label.code)}


def _sheets(rows: list[dict[str, Any]], per_sheet: int) -> Any:
    left = iter(rows)
    while sheet := list(islice(left, per_sheet)):
        yield sheet


def _names() -> list[tuple[str, str]]:
    return [("a6", _("A6")), ("a5", _("A5")), ("strip", _("Shelf strip"))]


def _href(request: Asked, size: str) -> str:
    tanks = [("tank", code) for code in request.GET.getlist("tank")]
    return f"?{urlencode([*tanks, ('size', size)])}"


def _give_codes(request: Asked, wanted: list[str]) -> HttpResponse:
    require(acting(request), "plan.change")
    tanks = tanks_without_code(here(request), request.at, wanted)
    for tank in tanks:
        give_public_code(tank=tank, by=acting(request), at=request.at)
    given = ngettext("%d tank has a code now.", "%d tanks have a code now.", len(tanks))
    messages.success(request, given % len(tanks))
    return redirect(request.get_full_path())
