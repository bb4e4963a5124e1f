"""Which scheme does this device show? The choice is kept on the device, not with the person."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from gallery_ops.web.parts import LOOK_COOKIE, LOOKS

YEAR_S = 365 * 24 * 3600


@require_POST
def choose_look(request: HttpRequest) -> HttpResponse:
    """Keep the scheme in a cookie and go back to the page."""
    chosen = request.POST.get("look", "")
    if chosen not in (*LOOKS, "device"):
        return HttpResponseBadRequest(_("Scheme: device, light, dark or dim."))
    back = request.POST.get("next", "/")
    if not url_has_allowed_host_and_scheme(back, {request.get_host()}, request.is_secure()):
        back = "/"
    answer = redirect(back)
    answer.set_cookie(
        LOOK_COOKIE,
        chosen,
        max_age=YEAR_S,
        httponly=True,
        samesite="Lax",
        secure=request.is_secure(),
    )
    return answer
