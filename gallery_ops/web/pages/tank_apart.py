"""A tank goes out of service, is joined to another, or a part of it becomes a tank of its own."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.overview.apart import Apart, apart, join, part, take_out
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.forms.glass_sizes import sizes_mm
from gallery_ops.web.forms.numbers import whole_or_decimal
from gallery_ops.web.middleware import Asked


@staff("plan.change")
@require_http_methods(["GET", "POST"])
def tank_apart(request: Asked, code: str) -> HttpResponse:
    """What would happen, and the three buttons."""
    goes_to = [code]

    def do(deed: str, typed: dict[str, str]) -> str:
        by, at, reason = acting(request), request.at, typed.get("reason", "")
        if deed == "join":
            into = join(by=by, code=code, into=typed.get("into", ""), at=at, reason=reason)
            goes_to[0] = into.code
            return _("%(code)s has gone into %(into)s.") % {"code": code, "into": into.code}
        if deed == "part":
            new = part(
                by=by,
                code=code,
                new_code=typed.get("code", ""),
                sizes_mm=sizes_mm(typed),
                counts=_counts(apart(here(request), code, at), typed),
                at=at,
                reason=reason,
            )
            goes_to[0] = new.code
            return _("%(new)s was a part of %(code)s until now.") % {"new": new.code, "code": code}
        take_out(by=by, code=code, at=at, reason=reason)
        return _("%(code)s is out of service. Its history stays.") % {"code": code}

    deed = deed_of(request, do)
    if deed.is_done:
        return redirect("tank_detail", goes_to[0])
    page = apart(here(request), code, request.at)
    return render(
        request,
        "web/tank/apart.html",
        {
            "page": page,
            "now": page.now,
            "rows": [(head, request.POST.get(f"batch-{head.batch_id}", "")) for head in page.heads],
            "deed": deed,
            "trouble": deed.trouble,
            "typed": request.POST,
            "here": "tanks",
        },
        status=deed.status,
    )


def _counts(page: Apart, typed: dict[str, str]) -> dict[int, int]:
    counts = {}
    for head in page.heads:
        name = f"batch-{head.batch_id}"
        count = whole_or_decimal(typed.get(name, ""), name) or 0
        if count != int(count) or not 0 <= count <= head.count:
            allowed = _("A whole number, 0 to %(n)s.") % {"n": head.count}
            raise Refused("no_such_count", f"{head.name}: {allowed}", {name: allowed})
        counts[head.batch_id] = int(count)
    return counts
