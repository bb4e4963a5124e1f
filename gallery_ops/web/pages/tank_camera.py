"""Which tanks may be photographed, filmed or shown today?"""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from gallery_ops.overview.camera_page import camera_page
from gallery_ops.web.access import here, staff
from gallery_ops.web.middleware import Asked


@staff()
@require_GET
def tank_camera(request: Asked) -> HttpResponse:
    """Fit for a camera now, from a day, or what stands against it."""
    page = camera_page(here(request), request.at)
    return render(request, "web/tank/camera.html", {"page": page, "here": "tanks"})
