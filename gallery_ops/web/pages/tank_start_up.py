"""The start-up of a tank: which step, what is proposed, and who took it?"""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.rights import may
from gallery_ops.overview.start_up import alter_step, copy_steps, start_up, take_step
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.forms.numbers import whole_or_decimal
from gallery_ops.web.middleware import Asked
from tanks.queries.tanks import tank_by_code
from tanks.services.gates import say_at_gate

FIGURES = ("from_day", "change_percent", "changes_per_week", "dose_percent", "light_h")


@staff()
@require_http_methods(["GET", "POST"])
def tank_start_up(request: Asked, code: str) -> HttpResponse:
    """Its steps; a step is proposed by day and condition, and a person takes it."""

    def do(deed: str, typed: dict[str, str]) -> str:
        by, at = acting(request), request.at
        if deed in {"copy", "copy_inert"}:
            copy_steps(by=by, code=code, at=at, is_inert=deed == "copy_inert")
            return _("The usual steps are written down for this layout. Change what it needs.")
        if deed == "algae":
            say_at_gate(
                tank=tank_by_code(here(request), code, at).tank,
                gate="G8",
                key="algae",
                by=by,
                at=at,
                number=whole_or_decimal(typed.get("algae", ""), "algae"),
            )
            return _("Written down.")
        order = int(whole_or_decimal(typed.get("order", ""), "order") or 0)
        if deed == "change":
            alter_step(by=by, code=code, at=at, order=order, **_figures(typed))
            return _("Step %(n)s is changed.") % {"n": order}
        take_step(by=by, code=code, order=order, at=at, reason=typed.get("reason", ""))
        return _("Step %(n)s holds from today.") % {"n": order}

    deed = deed_of(request, do)
    if deed.is_done:
        return redirect("tank_start_up", code)
    now = tank_by_code(here(request), code, request.at)
    return render(
        request,
        "web/tank/start_up.html",
        {
            "now": now,
            "page": start_up(now),
            "deed": deed,
            "trouble": deed.trouble,
            "typed": request.POST,
            "may_change": may(acting(request), "plan.change"),
            "here": "tanks",
        },
        status=deed.status,
    )


def _figures(typed: dict[str, str]) -> dict[str, float]:
    return {name: whole_or_decimal(typed.get(name, ""), name) or 0.0 for name in FIGURES}
