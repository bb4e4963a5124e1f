"""What was entered for a tank, and one entry put right: also without scripts."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from gallery_ops.overview.entries_page import entries_page, put_right
from gallery_ops.web.access import acting, staff
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.middleware import Asked


@staff("record")
@require_http_methods(["GET", "POST"])
def tank_entries(request: Asked, code: str) -> HttpResponse:
    """The list; with ``?entry=`` the two ways to put that one right. Both lines stay."""
    by = acting(request)

    def do(deed: str, typed: dict[str, str]) -> str:
        return put_right(by=by, code=code, deed=deed, typed=typed, at=request.at)

    deed = deed_of(request, do, "number")
    if deed.is_done:
        return redirect("tank_entries", code)
    chosen = request.POST.get("entry") or request.GET.get("entry", "")
    page = entries_page(by, code, chosen, request.at)
    return render(
        request,
        "web/tank/entries.html",
        {
            "page": page,
            "now": page.now,
            "trouble": deed.trouble,
            "pressed": deed.name,
            "typed": request.POST,
            "here": "tanks",
        },
        status=deed.status,
    )
