"""What stood here on a date?"""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from gallery_ops.kernel.errors import Refused
from gallery_ops.overview.tank_then import tank_then as ask
from gallery_ops.web.access import here, staff
from gallery_ops.web.middleware import Asked


@staff()
@require_GET
def tank_then(request: Asked, code: str) -> HttpResponse:
    """The glass, its place and what was planted in it at the end of that day."""
    typed = request.GET.get("on", "")
    trouble = None
    try:
        page = ask(here(request), code, typed, request.at)
    except Refused as no:
        trouble = no
        page = ask(here(request), code, "", request.at)
    return render(
        request,
        "web/tank/then.html",
        {
            "page": page,
            "now": page.now,
            "was": page.was,
            "typed": typed or page.on.isoformat(),
            "trouble": trouble,
            "here": "tanks",
        },
        status=422 if trouble else 200,
    )
