"""A guest designer's own layouts: what grows where, how it is trimmed, how old it is."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from gallery_ops.overview.own_layouts import own_layouts as ask
from gallery_ops.web.access import acting, staff
from gallery_ops.web.middleware import Asked


@staff("layout.read_own")
@require_GET
def own_layouts(request: Asked) -> HttpResponse:
    """Their layouts, those that stand first."""
    found = ask(acting(request), request.at)
    standing = sum(1 for one in found if one.now is not None)
    return render(
        request, "web/layout/own.html", {"layouts": found, "standing": standing, "here": "layouts"}
    )
