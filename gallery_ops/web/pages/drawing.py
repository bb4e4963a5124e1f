"""The drawing of a tank at an address of its own: named by content, kept for ever."""

from __future__ import annotations

from csp.decorators import csp_replace
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from gallery_ops.drawing import STYLE_HASH
from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import Unknown
from gallery_ops.overview.drawings import drawing_file


@require_safe
@gzip_page
@csp_replace({"style-src": [f"'{STYLE_HASH}'"]})  # type: ignore[arg-type]  # it passes all arguments on
def drawing_svg(request: HttpRequest, name: str) -> HttpResponse:  # noqa: ARG001 - Django's shape
    """The file; the same for everybody, so any cache on the way may hold it."""
    try:
        text = drawing_file(name, clock.now())
    except Unknown:
        raise Http404 from None
    answer = HttpResponse(text, content_type="image/svg+xml")
    answer["Cache-Control"] = "public, max-age=31536000, immutable"
    return answer
