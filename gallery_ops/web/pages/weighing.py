"""A container on a scale, in twenty seconds."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import Mass
from gallery_ops.overview.desk import act
from gallery_ops.overview.weigh_page import ToWeigh, scales, to_weigh, weighing_of
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked


@staff("weigh")
@require_GET
def weigh_list(request: Asked) -> HttpResponse:
    """What was not weighed for longest comes first."""
    rows = to_weigh(here(request), request.at)
    return render(request, "web/stock/weigh_list.html", {"rows": rows, "here": "stock"})


@staff("weigh")
@require_http_methods(["GET", "POST"])
def stock_weigh(request: Asked, code: str) -> HttpResponse:
    """The form; what was typed stays when something is refused."""
    one = weighing_of(here(request), code, request.at)
    typed = {
        "gross": request.POST.get("gross", ""),
        "scale": request.POST.get("scale", ""),
        "regulator": request.POST.get("regulator", ""),
    }
    trouble: Refused | None = None
    if request.method == "POST":
        try:
            _write(request, one, typed)
        except OutOfRange as no:
            trouble = Refused.from_range(no, field="gross")
        except Refused as no:
            trouble = no
        else:
            messages.success(request, _("%(name)s: written down.") % {"name": one.name})
            return redirect("weigh_list")
    return render(
        request,
        "web/stock/weigh.html",
        {
            "one": one,
            "typed": typed,
            "scales": scales(here(request)),
            "trouble": trouble,
            "here": "stock",
        },
        status=422 if trouble else 200,
    )


def _write(request: Asked, one: ToWeigh, typed: dict[str, str]) -> None:
    if one.regulator is not None and typed["regulator"] not in {"on", "off"}:
        raise Refused(
            "regulator_unsaid",
            _("Regulator: say whether it was on the cylinder."),
            {"regulator": _("Choose on or off.")},
        )
    gross = Mass.g(typed["gross"])
    act(
        by=acting(request),
        kind="weigh",
        at=request.at,
        body={
            "container": one.container.code,
            "gross_mg": gross.mg,
            "text": typed["gross"][:40],
            "scale": typed["scale"] or None,
            "regulator_on": typed["regulator"] == "on" if one.regulator else None,
        },
    )
