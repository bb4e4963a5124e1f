"""What changed since I was last here?"""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from gallery_ops.overview.changes_page import changes_page
from gallery_ops.web.access import acting, staff
from gallery_ops.web.middleware import Asked


@staff()
@require_GET
def tank_changes(request: Asked) -> HttpResponse:
    """Since my last shift; with ?since=week in seven days."""
    page = changes_page(acting(request), request.GET.get("since", ""), request.at)
    return render(request, "web/tank/changes.html", {"page": page, "here": "tanks"})
