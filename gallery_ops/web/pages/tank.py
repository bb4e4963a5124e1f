"""One tank for staff: this tank now, next, why."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from gallery_ops.kernel.errors import GalleryError
from gallery_ops.kernel.rights import may
from gallery_ops.overview.desk import write_note
from gallery_ops.overview.tank_page import tank_page
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked


@staff()
@require_GET
def tank_detail(request: Asked, code: str) -> HttpResponse:
    """The page; a code that this tank had once leads to the one it has now."""
    page = tank_page(here(request), code, request.at)
    if page.old_code:
        messages.info(
            request,
            _("%(old)s is called %(new)s now.") % {"old": page.old_code, "new": page.now.code},
        )
        return redirect("tank_detail", code=page.now.code)
    return render(
        request,
        "web/tank/detail.html",
        {
            "page": page,
            "now": page.now,
            "here": "tanks",
            "may_change": may(acting(request), "plan.change"),
            "text": request.GET.get("text", ""),
        },
    )


@staff("record")
@require_POST
def tank_note(request: Asked, code: str) -> HttpResponse:
    """A few words about this tank, written at a desk through the same door as a tablet's."""
    text = request.POST.get("text", "")
    try:
        write_note(by=acting(request), code=code, text=text, at=request.at)
    except GalleryError as no:
        messages.error(request, f"{no.sentence} {no.remedy}".strip())
        page = tank_page(here(request), code, request.at)
        context = {"page": page, "now": page.now, "here": "tanks", "text": text}
        return render(request, "web/tank/detail.html", context, status=422)
    messages.success(request, _("Written down."))
    return redirect("tank_detail", code=code)
