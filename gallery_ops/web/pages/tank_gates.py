"""What must be shown before this tank goes on?"""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.rights import may
from gallery_ops.overview.gates import gate_page, pass_on
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.age_words import shown_sign
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.forms.numbers import whole_or_decimal
from gallery_ops.web.middleware import Asked
from tanks.queries.tanks import tank_by_code
from tanks.services.gates import say_at_gate


@staff()
@require_http_methods(["GET", "POST"])
def tank_gates(request: Asked, code: str) -> HttpResponse:
    """Proof by proof: in, missing, let pass; the signs of decline; and the button that passes."""

    def do(deed: str, typed: dict[str, str]) -> str:
        if deed == "pass":
            now = pass_on(by=acting(request), code=code, at=request.at)
            stage = now.layout.get_stage_display() if now.layout else _("vacant")
            return _("%(code)s is now in %(stage)s.") % {"code": now.code, "stage": stage}
        gate, _dot, key = typed.get("of", "").partition(".")
        say_at_gate(
            tank=tank_by_code(here(request), code, request.at).tank,
            gate=gate,
            key=key,
            by=acting(request),
            at=request.at,
            was_so=deed != "say_no",
            number=whole_or_decimal(typed.get("number", ""), key),
            text=typed.get("text", ""),
            let_pass=deed == "let_pass",
        )
        return _("Written down.")

    deed = deed_of(request, do)
    if deed.is_done:
        return redirect("tank_gates", code)
    return render(
        request,
        "web/tank/gates.html",
        {
            "page": (page := gate_page(here(request), code, request.at)),
            "now": page.now,
            "signs": [shown_sign(sign) for sign in page.signs or ()],
            "deed": deed,
            "trouble": deed.trouble,
            "typed": request.POST,
            "may_pass": may(acting(request), "plan.change"),
            "here": "tanks",
        },
        status=deed.status,
    )
