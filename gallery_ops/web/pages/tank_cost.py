"""What does a day on show cost? For whoever sets prices."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from gallery_ops.overview.cost_page import cost_page
from gallery_ops.web.access import here, staff
from gallery_ops.web.middleware import Asked


@staff("price.change")
@require_GET
def tank_cost(request: Asked) -> HttpResponse:
    """Build, work and use of each layout over its days on show; empty glasses by the same."""
    page = cost_page(here(request), request.at)
    return render(request, "web/tank/cost.html", {"page": page, "here": "tanks"})
