"""One tank for staff: this tank now, next, why."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from gallery_ops.kernel import clock as machine
from gallery_ops.kernel.errors import GalleryError
from gallery_ops.kernel.rights import may
from gallery_ops.overview.desk import write_note
from gallery_ops.overview.tank_page import tank_page
from gallery_ops.web import words
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked
from tanks.queries.old_codes import JOINED, Lead, lead_of


@staff()
@require_GET
def tank_detail(request: Asked, code: str) -> HttpResponse:
    """The page; a code of before leads to the tank that has or took in what was called so.

    ``?own`` shows a tank that went into another one as it was left.
    """
    own = "own" in request.GET
    lead = None if own else lead_of(here(request), code, request.at)
    if lead is not None:
        messages.info(request, lead_words(lead))
        return redirect("tank_detail", code=lead.to.code)
    page = tank_page(here(request), code, request.at)
    if page.now.code.casefold() != code.strip().casefold():
        return redirect(f"{reverse('tank_detail', args=[page.now.code])}?own")
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


def lead_words(lead: Lead) -> str:
    """What a code of before meant, until when, and where it leads."""
    until = words.day(lead.until, words.local(machine.now()).date())
    said = {"old": lead.code, "new": lead.to.code, "when": until}
    if lead.relation == JOINED:
        return _("%(old)s stood until %(when)s. What lived there went into %(new)s.") % said
    return _("%(new)s was %(old)s until %(when)s.") % said


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
