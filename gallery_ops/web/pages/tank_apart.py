"""A tank goes out of service, is joined to another, or a part of it becomes a tank of its own."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.overview.apart import Apart, Part, apart, join, part, proposed_for, take_out
from gallery_ops.overview.new_glass import Glass
from gallery_ops.overview.proposed_plans import Proposal
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import Deed, attempt, deed_of
from gallery_ops.web.forms.glass_sizes import sizes_mm
from gallery_ops.web.forms.numbers import whole_or_decimal
from gallery_ops.web.middleware import Asked


@staff("plan.change")
@require_http_methods(["GET", "POST"])
def tank_apart(request: Asked, code: str) -> HttpResponse:
    """What would happen, and the three buttons."""
    if request.POST.get("deed") == "look":
        return _looked(request, code)
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
                wanted=_part(apart(here(request), code, at), typed),
                at=at,
                reason=reason,
                plans=[int(key) for key in request.POST.getlist("plan") if key.isdecimal()],
            )
            goes_to[0] = new.code
            return _("%(new)s was a part of %(code)s until now.") % {"new": new.code, "code": code}
        take_out(by=by, code=code, at=at, reason=reason)
        return _("%(code)s is out of service. Its history stays.") % {"code": code}

    deed = deed_of(request, do)
    if deed.is_done:
        return redirect("tank_detail", goes_to[0])
    return _answer(request, apart(here(request), code, request.at), deed)


def _looked(request: Asked, code: str) -> HttpResponse:
    """The same page with what a part would get; nothing is written."""
    page = apart(here(request), code, request.at)
    typed = {key: str(value) for key, value in request.POST.items()}
    found: list[Proposal] = []
    trouble = attempt(lambda: found.extend(proposed_for(page, _part(page, typed), request.at)))
    return _answer(request, page, Deed("part", trouble=trouble), None if trouble else found)


def _answer(
    request: Asked, page: Apart, deed: Deed, proposed: list[Proposal] | None = None
) -> HttpResponse:
    ticked = request.POST.getlist("plan")
    return render(
        request,
        "web/tank/apart.html",
        {
            "page": page,
            "now": page.now,
            "rows": [(head, request.POST.get(f"batch-{head.batch_id}", "")) for head in page.heads],
            "places": [(str(place.pk), place) for place in page.free],
            "kind": request.POST.get("kind", page.now.tank.kind_of_glass),
            "part_shown": proposed is not None,
            "proposed": [(one, str(one.plan.pk) in ticked) for one in proposed or []],
            "deed": deed,
            "trouble": deed.trouble,
            "typed": request.POST,
            "here": "tanks",
        },
        status=deed.status,
    )


def _part(page: Apart, typed: dict[str, str]) -> Part:
    """As it was typed."""
    glass = Glass(*sizes_mm(typed), typed.get("kind", page.now.tank.kind_of_glass))
    counts = _counts(page, typed)
    return Part(typed.get("code", ""), glass, typed.get("place", ""), counts)


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
