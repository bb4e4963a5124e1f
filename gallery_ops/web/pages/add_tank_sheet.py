"""Would one more tank fit? The address holds the wish; nothing is written down."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_GET

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.rights import may
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.overview.add_sheet import Sheet, add_sheet, places
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.forms import one_more
from gallery_ops.web.forms.boxes import filled
from gallery_ops.web.middleware import Asked

NAMES = {
    "labour": _("Work"),
    "air": _("Air of the room"),
    "floor": _("Floor"),
    "circuit": _("Electricity"),
    "year": _("A year"),
}
MARKS = {"fits": "done", "if": "half", "no": "over", "number": "to_do"}


@staff()
@require_GET
def add_tank_sheet(request: Asked) -> HttpResponse:
    """Fits, fits if, or no, and because of what."""
    rooms, circuits = places(here(request))
    typed = {name: str(value)[:60] for name, value in request.GET.items()}
    sheet: Sheet | None = None
    trouble: Refused | None = None
    if typed:
        try:
            sheet = add_sheet(here(request), one_more.read(typed), request.at)
        except Refused as no:
            trouble = no
        except OutOfRange as no:
            trouble = Refused("sizes", no.sentence, {})
    fields = filled(
        one_more.boxes(rooms, circuits),
        one_more.USUAL,
        typed=typed or None,
        errors=trouble.fields if trouble else None,
    )
    context = {
        "boxes": fields,
        "sheet": sheet,
        "lines": [(one, NAMES[one.key], MARKS[one.verdict]) for one in sheet.lines]
        if sheet
        else [],
        "trouble": trouble,
        "may_price": may(acting(request), "price.change"),
        "here": "tanks",
    }
    return render(request, "web/tank/add_sheet.html", context, status=422 if trouble else 200)
