"""Tablets: give one a code, enrol this one, take one out of service."""

from __future__ import annotations

from typing import cast
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.queries.devices import device_by_uid, devices
from gallery_ops.kernel.services.devices import enrol_device, make_enrolment_code, revoke_device
from gallery_ops.overview.address import client_address
from gallery_ops.overview.who import DEVICE_COOKIE
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked
from gallery_ops.web.qr import square_svg
from gallery_ops.web.reach import cannot_keep, reach

TEN_YEARS_S = 10 * 365 * 24 * 3600


@require_http_methods(["GET", "POST"])
def device_enrol(request: HttpRequest) -> HttpResponse:
    """This tablet becomes one of the gallery's, with a code that a manager made."""
    asked = cast("Asked", request)
    typed = {"code": request.POST.get("code", ""), "name": request.POST.get("name", "")}
    trouble = None
    if request.method == "POST":
        try:
            enrolled = enrol_device(
                code=typed["code"],
                name=typed["name"],
                at=asked.at,
                address=client_address(request),
            )
        except Refused as no:
            trouble = no
        else:
            answer = redirect("tile_sign_in")
            answer.set_cookie(
                DEVICE_COOKIE,
                enrolled.token,
                max_age=TEN_YEARS_S,
                secure=settings.SESSION_COOKIE_SECURE,
                httponly=True,
                samesite="Strict",
            )
            return answer
    return render(
        request,
        "web/sign/enrol.html",
        {
            "typed": typed,
            "trouble": trouble,
            "device": asked.who.device,
            "cannot_keep": cannot_keep(request),
        },
        status=422 if trouble else 200,
    )


@staff("device.enrol")
@require_http_methods(["GET", "POST"])
def device_list(request: Asked) -> HttpResponse:
    """The gallery's tablets, and a code for the next one."""
    code = ""
    if request.method == "POST":
        code = make_enrolment_code(showroom=here(request), by=acting(request), at=request.at)
    return render(
        request, "web/sign/devices.html", {"devices": devices(here(request)), "code": code}
    )


@staff("device.enrol")
@require_http_methods(["GET", "POST"])
def device_begin(request: Asked) -> HttpResponse:
    """From a box to a round: what a new tablet needs, and how it must reach this gallery."""
    found = reach(request)
    code = ""
    if request.method == "POST":
        code = make_enrolment_code(showroom=here(request), by=acting(request), at=request.at)
    square = mark_safe(square_svg(found.begin)) if found.how in {"own", "proxy"} else ""
    return render(
        request, "web/tablets/begin.html", {"reach": found, "code": code, "square": square}
    )


@staff("device.enrol")
@require_POST
def device_revoke(request: Asked, uid: UUID) -> HttpResponse:
    """It signs nobody in any more; what it still sends is kept for a person."""
    device = device_by_uid(here(request), uid)
    revoke_device(device=device, by=acting(request), at=request.at)
    messages.success(request, _("%(name)s is out of service.") % {"name": device.name})
    return redirect("device_list")
