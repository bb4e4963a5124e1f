"""A tank gets new glass: first what stays and what changes, then the button."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.overview.new_glass import (
    Glass,
    check_glass,
    glass_of,
    new_glass,
    reglaze,
)
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import attempt
from gallery_ops.web.forms.glass_sizes import SIZES, sizes_mm
from gallery_ops.web.middleware import Asked
from tanks.queries.tanks import tank_by_code


@staff("plan.change")
@require_http_methods(["GET", "POST"])
def tank_new_glass(request: Asked, code: str) -> HttpResponse:
    """Sizes and reason; what would happen; and the deed."""
    tank = tank_by_code(here(request), code, request.at).tank
    typed = {key: str(value) for key, value in request.POST.items()}
    wanted: list[Glass] = []

    def look() -> None:
        glass = _glass(typed)
        check_glass(tank, glass, typed.get("reason", ""))
        wanted.append(glass)

    def do() -> None:
        look()
        reglaze(
            by=acting(request),
            code=code,
            wanted=wanted[0],
            at=request.at,
            reason=typed.get("reason", ""),
            seen=typed.get("seen", ""),
            scaled=[int(key) for key in request.POST.getlist("scaled") if key.isdecimal()],
        )

    trouble = None
    if request.method == "POST":
        does = typed.get("deed") == "replace"
        trouble = attempt(do if does else look)
        if does and trouble is None:
            messages.success(request, _("%(code)s has new glass.") % {"code": code})
            return redirect("tank_detail", code)
    page = new_glass(here(request), code, request.at, wanted[0] if wanted else None)
    return render(
        request,
        "web/tank/new_glass.html",
        {
            "page": page,
            "now": page.now,
            "old": glass_of(page.now.tank),
            "typed": typed or _noted(glass_of(page.now.tank)),
            "ticked": request.POST.getlist("scaled"),
            "trouble": trouble,
            "here": "tanks",
        },
        status=422 if trouble else 200,
    )


def _glass(typed: dict[str, str]) -> Glass:
    """Outer sizes and thickness as typed [mm]."""
    return Glass(*sizes_mm(typed), typed.get("kind", ""))


def _noted(glass: Glass) -> dict[str, str]:
    """The present glass in the fields, so that only what is new must be typed."""
    sizes = (glass.length_mm, glass.width_mm, glass.height_mm, glass.glass_mm)
    return {
        **{name: f"{mm / times:g}" for (name, times), mm in zip(SIZES, sizes, strict=True)},
        "kind": glass.kind,
    }
