"""What does a page say when something did not work?

What happened, what is kept, what to do, and for our own faults a number to quote that stands in
the log beside the details. A page of another showroom answers exactly like one that is not there.
"""

from __future__ import annotations

import logging

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from gallery_ops.kernel.values.codes import new_code
from gallery_ops.web.middleware import PUBLIC_DOORS

log = logging.getLogger(__name__)


def bad_request(
    request: HttpRequest,
    exception: Exception | None = None,  # noqa: ARG001 - the handler is called with it
) -> HttpResponse:
    """400: what was sent cannot be read."""
    return _fault(
        request,
        400,
        title=_("This could not be read."),
        what=_("The address or the form is damaged, or larger than a form may be."),
        kept=_("Nothing was written."),
        help=_("Go back, and send it once more from the page itself."),
    )


def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """403: not with the rights of whoever is signed in."""
    said = str(exception) if exception and str(exception) else ""
    return _fault(
        request,
        403,
        title=_("This page is not open to you."),
        what=said or _("Your part in this gallery does not include it."),
        kept=_("Nothing was written."),
        help=_("Ask the manager or the owner: they may open it, or do it for you."),
    )


def form_too_old(request: HttpRequest, reason: str = "") -> HttpResponse:
    """403: the form lay open too long, or came from elsewhere."""
    log.warning("form.refused", extra={"path": request.path, "reason": reason})
    return _fault(
        request,
        403,
        title=_("This form is too old."),
        what=_("It lay open while you signed in anew, or it did not come from this gallery."),
        kept=_("Nothing was written. What you typed may still be there when you go back."),
        help=_("Go back, load the page again and send it once more."),
    )


def not_found(
    request: HttpRequest,
    exception: Exception | None = None,  # noqa: ARG001 - the handler is called with it
) -> HttpResponse:
    """404: nothing here by that address."""
    return _fault(
        request,
        404,
        title=_("Nothing stands here."),
        what=_("There is no page at this address in this gallery, or not any more."),
        help=_("Check the code on the label, or start from the first page."),
    )


def broken(request: HttpRequest) -> HttpResponse:
    """500: a fault of the program."""
    number = new_code()
    log.error("page.broke", extra={"number": number, "path": request.path}, exc_info=True)
    return _fault(
        request,
        500,
        title=_("The program made a mistake."),
        what=_("It is not your fault. This page could not be made."),
        kept=_("What was saved before stays. If you were sending a form, look whether it arrived."),
        help=_("Try once more. If it comes again, tell whoever runs this program the number."),
        number=number,
    )


def _fault(request: HttpRequest, status: int, **said: str) -> HttpResponse:
    public = request.path.startswith(PUBLIC_DOORS)
    try:
        return render(
            request, "web/errors/fault.html", {**said, "is_public": public}, status=status
        )
    except Exception:
        # The page about the fault must never be a fault itself: plain words, no template.
        log.error("fault.page_broke", extra={"path": request.path}, exc_info=True)
        lines = [said["title"], said["what"], said.get("number", "")]
        text = "\n".join(line for line in lines if line)
        return HttpResponse(text, status=status, content_type="text/plain; charset=utf-8")
