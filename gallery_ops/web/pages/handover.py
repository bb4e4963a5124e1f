"""What one shift hands to the next: written at the end of a round, read before the next one."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.rights import may
from gallery_ops.overview.handover_page import history, read_lines
from gallery_ops.web.access import acting, staff
from gallery_ops.web.middleware import Asked

MOST = 100


@staff()
@require_http_methods(["GET", "POST"])
def handover(request: Asked) -> HttpResponse:
    """Lines day by day, who has read them and when; one button says "read" by name."""
    by = acting(request)
    if request.method == "POST":
        try:
            n = read_lines(by=by, ids=request.POST.getlist("line")[:MOST], at=request.at)
        except Refused as no:
            messages.error(request, f"{no.sentence} {no.remedy}".strip())
        else:
            said = ngettext("%(n)d line is marked as read.", "%(n)d lines are marked as read.", n)
            messages.success(request, said % {"n": n})
        return redirect("day_board" if request.POST.get("back") == "board" else "handover")
    return render(
        request,
        "web/handover/list.html",
        {
            "history": history(by, request.at, _day(request.GET.get("before", ""))),
            "may_record": may(by, "record"),
            "here": "today",
        },
    )


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
