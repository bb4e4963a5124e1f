"""The fleet: the wall drawn to one scale, and the same as a list."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.overview.find import find_tank
from gallery_ops.overview.fleet import caption_words, tank_list
from gallery_ops.overview.fleet import wall as ask
from gallery_ops.overview.fleet_then import wall_then
from gallery_ops.web.access import here, staff
from gallery_ops.web.middleware import Asked

PER_PAGE = 20


@staff()
@require_GET
def tank_wall(request: Asked) -> HttpResponse:
    """How is every tank: one sentence, then the wall room by room."""
    if request.GET.get("as") == "list":
        found = tank_list(here(request), request.at, request.GET.get("page", ""), PER_PAGE)
        rows = [(tank, *caption_words(tank)) for tank in found.tanks]
        return render(
            request,
            "web/tank/list.html",
            {"found": found, "page": found.page, "rows": rows, "here": "tanks"},
        )
    if "on" in request.GET:
        return _on_a_day(request)
    wall = ask(here(request), request.at)
    return render(request, "web/tank/wall.html", {"wall": wall, "here": "tanks"})


def _on_a_day(request: Asked) -> HttpResponse:
    """The wall as it was at the end of the day that was asked for."""
    typed, trouble, then = request.GET.get("on", ""), None, None
    try:
        then = wall_then(here(request), typed, request.at)
    except Refused as no:
        trouble = no
    context = {
        "then": then,
        "typed": then.on.isoformat() if then else typed,
        "trouble": trouble,
        "here": "tanks",
    }
    return render(request, "web/tank/wall_then.html", context, status=422 if trouble else 200)


@staff()
@require_GET
def tank_find(request: Asked) -> HttpResponse:
    """A tank by code, old code, title or short code; one hit opens it."""
    text = request.GET.get("q", "")
    try:
        found = find_tank(here(request), text, request.at)
    except Unknown:
        found = []
    if len(found) == 1:
        return redirect("tank_detail", code=found[0].code)
    return render(request, "web/tank/found.html", {"found": found, "text": text, "here": "tanks"})
