"""A tank that was out of service is taken into service again."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.overview.back import back, take_back
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.middleware import Asked


@staff("plan.change")
@require_http_methods(["GET", "POST"])
def tank_back(request: Asked, code: str) -> HttpResponse:
    """Code, place and reason; and the button. Refused in words where it does not return."""
    goes_to = [code]

    def do(_deed: str, typed: dict[str, str]) -> str:
        tank = take_back(
            by=acting(request),
            code=code,
            new_code=typed.get("code", ""),
            place=typed.get("place", ""),
            at=request.at,
            reason=typed.get("reason", ""),
        )
        goes_to[0] = tank.code
        return _("%(code)s is in service again, from now on.") % {"code": tank.code}

    deed = deed_of(request, do)
    if deed.is_done:
        return redirect("tank_detail", goes_to[0])
    page = back(here(request), code, request.at)
    noted = {"code": page.now.code, "place": str(page.stood_at or "")}
    return render(
        request,
        "web/tank/back.html",
        {
            "page": page,
            "now": page.now,
            "places": [(str(place.pk), place) for place in page.free],
            "typed": request.POST or noted,
            "trouble": deed.trouble,
            "here": "tanks",
        },
        status=deed.status,
    )
