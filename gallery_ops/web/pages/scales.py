"""The scales of the house: which there are, and when each was held against a known mass."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.rights import may
from gallery_ops.overview.weigh_page import scales
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import answer, attempt, typed_of
from gallery_ops.web.forms.measuring import typed_mass
from gallery_ops.web.middleware import Asked
from inventory.services.items import add_scale
from inventory.services.scales import check_scale


@staff("weigh")
@require_http_methods(["GET", "POST"])
def scale_list(request: Asked) -> HttpResponse:
    """All scales; one is added, or held against a known mass."""
    typed = typed_of(request, "name", "step", "most", "scale", "known", "showed")
    trouble = None
    if request.method == "POST":
        is_check = "check" in request.POST
        deed = _check if is_check else _add
        trouble = attempt(lambda: deed(request, typed), "showed" if is_check else "step")
        if trouble is None:
            messages.success(request, _("Written down."))
            return redirect("scale_list")
    return answer(
        request,
        "web/stock/scales.html",
        trouble,
        {
            "scales": scales(here(request)),
            "typed": typed,
            "may_plan": may(acting(request), "plan.change"),
        },
    )


def _add(request: Asked, typed: dict[str, str]) -> None:
    if not typed["name"].strip():
        raise Refused(
            "name_missing",
            _("Name: nothing was given."),
            {"name": _("What people call it, such as bench scale.")},
        )
    step = typed_mass(typed["step"], _("Step"))
    most = typed_mass(typed["most"], _("Most")) if typed["most"].strip() else None
    if not 1 <= step.mg <= 1_000_000:
        raise Refused(
            "out_of_range",
            _("Step: %(step)s is not allowed.") % {"step": step.text(code="g")},
            {"step": _("Allowed: 0.001 to 1000 g.")},
        )
    add_scale(
        showroom=here(request),
        name=typed["name"].strip()[:60],
        resolution=step,
        noise_sd=step,
        most=most,
        by=acting(request),
        at=request.at,
    )


def _check(request: Asked, typed: dict[str, str]) -> None:
    scale = next((one for one in scales(here(request)) if one.name == typed["scale"]), None)
    if scale is None:
        raise Refused(
            "nothing_said", _("Scale: none was chosen."), {"scale": _("Choose one of the list.")}
        )
    check_scale(
        scale=scale,
        known=typed_mass(typed["known"], _("Known mass")),
        showed=typed_mass(typed["showed"], _("It showed")),
        by=acting(request),
        at=request.at,
    )
