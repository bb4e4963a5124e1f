"""What if? The address holds the choices; dates move at once, and nothing is saved."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from gallery_ops.drawing import Axis
from gallery_ops.kernel.errors import Refused
from gallery_ops.overview.whatif_page import AXIS_DAYS, Size, whatif_page
from gallery_ops.web import whatif_beside as beside
from gallery_ops.web import whatif_words as words
from gallery_ops.web.access import here, staff
from gallery_ops.web.middleware import Asked
from gallery_ops.web.words import number
from inventory.queries.what_if import Choices


@staff()
@require_GET
def forecast_whatif(request: Asked) -> HttpResponse:
    """Bad choices are named, what was typed stays, and the strips show how it is."""
    typed = {key: str(value) for key, value in request.GET.items()}
    trouble: Refused | None = None
    try:
        page = whatif_page(
            here(request), request.at, words.choices_of(typed), typed.get("room", "")
        )
    except Refused as no:
        trouble = words.named_as_here(no)
        page = whatif_page(here(request), request.at, Choices())
    axis = Axis(page.answer.today, AXIS_DAYS, page.deliveries, page.closures)
    first, second = words.lede(page.answer)
    rows, rest = words.rows(page.answer, axis)
    return render(
        request,
        "web/whatif/page.html",
        {
            "first": _("Not reckoned yet.") if trouble else first,
            "second": _("One choice must be put right.") if trouble else second,
            "rows": rows,
            "rest": rest,
            "axis": axis,
            "sizes": [(size.key, _size(size)) for size in page.sizes],
            "rooms": [(str(one.room.uid), one.room.name) for one in page.rooms],
            "beside": (
                beside.labour_words(page.labour),
                beside.room_beside(page.room, page.answer.choices),
            ),
            "rests_on": words.rests_on(page.answer),
            "typed": typed,
            "trouble": trouble,
            "is_nothing": page.answer.choices.is_nothing,
            "today": page.answer.today,
            "here": "stock",
        },
        status=422 if trouble else 200,
    )


def _size(size: Size) -> str:
    sides = (size.length_mm, size.width_mm, size.height_mm)
    return _("%(a)s × %(b)s × %(c)s cm") % dict(
        zip("abc", (number(side / 10) for side in sides), strict=True)
    )
