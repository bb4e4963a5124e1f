"""The photos of one tank, then beside now; and what a senior carer says of each."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.rights import may, require
from gallery_ops.overview.photo_page import look_at, photo_page
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked


@staff()
@require_http_methods(["GET", "HEAD", "POST"])
def tank_photos(request: Asked, code: str) -> HttpResponse:
    """The page; a look at a photo is written down and the page shown again."""
    showroom, trouble, typed = here(request), None, {}
    if request.method == "POST":
        require(acting(request), "correct", in_=showroom)
        typed = request.POST.dict()
        try:
            look_at(showroom=showroom, by=acting(request), typed=typed, at=request.at)
        except Refused as no:
            trouble = no
        else:
            messages.success(request, _said(typed["outcome"]))
            return redirect("tank_photos", code=code)
    page = photo_page(showroom, code, request.at)
    return render(
        request,
        "web/tank/photos.html",
        {
            "page": page,
            "now": page.now,
            "here": "tanks",
            "may_review": may(acting(request), "correct"),
            "trouble": trouble,
            "typed": typed,
            "wrong_photo": typed.get("photo") if trouble else "",
        },
        status=422 if trouble else 200,
    )


def _said(outcome: str) -> str:
    return {
        "public": _("Visitors may see it."),
        "private": _("It stays private."),
        "wrong": _("It is not shown here any more."),
    }[outcome]
