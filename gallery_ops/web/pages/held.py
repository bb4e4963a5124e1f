"""Entries that wait for a person, each with what may hold and what would follow."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from gallery_ops.kernel.errors import Forbidden, GalleryError, Unknown
from gallery_ops.overview.confirming import NOT_SO, SO, unproven_work, vouch
from gallery_ops.overview.gap_report import gap_report
from gallery_ops.overview.held_page import held_page, settle_entry
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked

TEMPLATE = "web/held/list.html"


@staff()
@require_GET
def held_list(request: Asked) -> HttpResponse:
    """What waits, the worst first; the carer who wrote it sees the same words."""
    return _page(request)


@staff()
@require_POST
def held_settle(request: Asked, uid: UUID) -> HttpResponse:
    """Somebody decided. What stands in the way comes back to the article with what was typed."""
    typed = {name: request.POST.get(name, "") for name in ("content", "choice", "reason")}
    task = request.POST.get("task", "")
    by, at = acting(request), request.at
    try:
        if typed["choice"] in {SO, NOT_SO}:
            said = vouch(
                by=by,
                at=at,
                uid=uid,
                task_uid=task,
                choice=typed["choice"],
                reason=typed["reason"],
            )
        else:
            said = settle_entry(by=by, at=at, uid=str(uid), **typed)
    except (Unknown, Forbidden):
        raise
    except GalleryError as no:
        trouble = {"uid": str(uid), "content": typed["content"], "reason": typed["reason"]}
        trouble["task"] = task
        sentence = f"{no.sentence} {no.remedy}".strip()
        return _page(request, status=422, trouble=trouble, sentence=sentence)
    messages.success(request, said)
    return redirect("held_list")


def _page(request: Asked, status: int = 200, **more: Any) -> HttpResponse:
    showroom, by = here(request), acting(request)
    context = {
        "page": held_page(showroom, by, request.at),
        "unproven": unproven_work(showroom, by),
        "gaps": gap_report(showroom, request.at),
        "here": "today",
        **more,
    }
    return render(request, TEMPLATE, context, status=status)
