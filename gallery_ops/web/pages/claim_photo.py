"""A picture for a claim: kept beside the line of the van, shown to those who work here only."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from gallery_ops.kernel.errors import Refused
from gallery_ops.overview.order_page import OrderPage, photo_subject
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked
from tanks.queries.photos import photo_of
from tanks.services.photo_files import MOST_BYTES, bytes_of, keep_photo


def keep_claim_photo(request: Asked, page: OrderPage, typed: dict[str, str]) -> str:
    """The picture that was sent of one line of a van; what was done, as a sentence."""
    found = [
        (van, came)
        for van in page.receipts
        for came in van.came
        if typed.get("of", "") == van.subject(came.place)
    ]
    sent = request.FILES.get("photo")
    if not found or sent is None or isinstance(sent, list):
        raise Refused(
            "no_picture",
            _("Picture: none was chosen."),
            {"photo": _("A JPEG, PNG or WebP of what came broken.")},
        )
    van, came = found[0]
    keep_photo(
        showroom=here(request),
        data=sent.read(MOST_BYTES + 1),
        subject=photo_subject(van.receipt, came.place),
        by=acting(request),
        at=request.at,
    )
    return _("The picture is kept. Send it with the text of the claim.")


@staff()
@require_GET
def photo_file(request: Asked, uid: UUID) -> HttpResponse:
    """The bytes of a picture, for this gallery only."""
    photo = photo_of(here(request), uid)
    answer = HttpResponse(bytes_of(photo), content_type=photo.media_type)
    answer["Cache-Control"] = "private, max-age=3600"
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Disposition"] = f'inline; filename="{photo.kept_sha256[:12]}"'
    return answer
