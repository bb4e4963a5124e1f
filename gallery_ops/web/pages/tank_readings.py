"""What did the water of this tank read, and what was changed meanwhile?"""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.rights import may
from gallery_ops.overview.readings_page import USUAL_WEEKS, WEEKS, readings_page
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.middleware import Asked
from gallery_ops.web.reading_charts import KEYS, lanes, shown
from tanks.queries.reading_sheet import reading_of, ways_of
from tanks.queries.tanks import tank_by_code
from tanks.services.readings import correct_reading


@staff()
@require_http_methods(["GET", "POST"])
def tank_readings(request: Asked, code: str) -> HttpResponse:
    """Charts on one axis, and the same readings as a table in which one can be corrected."""

    def do(_deed: str, typed: dict[str, str]) -> str:
        of = typed.get("of", "")
        tank = tank_by_code(here(request), code, request.at).tank
        reading = reading_of(tank, int(of)) if of.isascii() and of.isdecimal() else None
        if reading is None:
            raise Unknown("reading")
        correct_reading(
            reading=reading,
            text=typed.get("text", ""),
            reason=typed.get("reason", ""),
            counted_as=typed.get("counted_as", ""),
            asked_again=bool(typed.get("really")),
            by=acting(request),
            at=request.at,
        )
        return _("Corrected. What stood there before stays to be seen below.")

    deed = deed_of(request, do, "value")
    if deed.is_done:
        return redirect("tank_readings", code)
    asked = request.GET.get("weeks", "")
    weeks = int(asked) if asked in {str(n) for n in WEEKS} else USUAL_WEEKS
    page = readings_page(here(request), code, request.at, weeks)
    return render(
        request,
        "web/tank/readings.html",
        {
            "page": page,
            "now": page.now,
            "charts": shown(page),
            "lanes": lanes(page),
            "keys": KEYS,
            "ways": ways_of(page.rows),
            "choices": WEEKS,
            "deed": deed,
            "trouble": deed.trouble,
            "typed": request.POST,
            "asks": deed.trouble is not None and deed.trouble.code == "ask_again",
            "may_correct": may(acting(request), "correct"),
            "may_record": may(acting(request), "record"),
            "here": "tanks",
        },
        status=deed.status,
    )
