"""Which figures does this gallery ask for at its gates?"""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.rights import may
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.forms.numbers import whole_or_decimal
from gallery_ops.web.middleware import Asked
from tanks.queries.gates import limits_in_force
from tanks.services.gates import set_limit


@staff()
@require_http_methods(["GET", "POST"])
def gate_limits(request: Asked) -> HttpResponse:
    """Each figure with the usual one beside it; another one needs a reason."""

    def do(key: str, typed: dict[str, str]) -> str:
        number = whole_or_decimal(typed.get("number", ""), key)
        if number is None:
            raise Refused("no_number", _("No figure was typed."), {key: _("A number.")})
        set_limit(
            showroom=here(request),
            key=key,
            number=number,
            reason=typed.get("reason", ""),
            by=acting(request),
            at=request.at,
        )
        return _("Holds from now on.")

    deed = deed_of(request, do)
    if deed.is_done:
        return redirect("gate_limits")
    return render(
        request,
        "web/tank/gate_limits.html",
        {
            "rows": limits_in_force(here(request)),
            "deed": deed,
            "trouble": deed.trouble,
            "typed": request.POST,
            "may_change": may(acting(request), "plan.change"),
            "here": "tanks",
        },
        status=deed.status,
    )
