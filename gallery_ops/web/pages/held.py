"""Entries that wait for a person, each with what may hold and what would follow."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from gallery_ops.kernel.errors import Forbidden, GalleryError, Unknown
from gallery_ops.overview.held_page import held_page, settle_entry
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked

TEMPLATE = "web/held/list.html"


@staff()
@require_GET
def held_list(request: Asked) -> HttpResponse:
    """What waits, the worst first; the carer who wrote it sees the same words."""
    page = held_page(here(request), acting(request), request.at)
    return render(request, TEMPLATE, {"page": page, "here": "today"})


@staff()
@require_POST
def held_settle(request: Asked, uid: UUID) -> HttpResponse:
    """Somebody decided. What stands in the way comes back to the article with what was typed."""
    typed = {name: request.POST.get(name, "") for name in ("content", "choice", "reason")}
    try:
        said = settle_entry(by=acting(request), at=request.at, uid=str(uid), **typed)
    except (Unknown, Forbidden):
        raise
    except GalleryError as no:
        page = held_page(here(request), acting(request), request.at)
        trouble = {"uid": str(uid), "content": typed["content"], "reason": typed["reason"]}
        sentence = f"{no.sentence} {no.remedy}".strip()
        context = {"page": page, "here": "today", "trouble": trouble, "sentence": sentence}
        return render(request, TEMPLATE, context, status=422)
    messages.success(request, said)
    return redirect("held_list")
