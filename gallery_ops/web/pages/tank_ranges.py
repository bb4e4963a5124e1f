"""Which ranges hold for this tank, and who wants others?"""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.rights import may
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.forms.numbers import whole_or_decimal
from gallery_ops.web.middleware import Asked
from gallery_ops.web.range_words import shown_change
from tanks.queries.own_ranges import holding
from tanks.queries.range_history import RangesThen
from tanks.queries.tanks import tank_by_code
from tanks.services.ranges import RIGHT_FOR_STYLE, RIGHT_FOR_TANK, SIDES, set_range


@staff()
@require_http_methods(["GET", "POST"])
def tank_ranges(request: Asked, code: str) -> HttpResponse:
    """What is asked about and what raises an alert, with a form for whoever may change it."""
    now = tank_by_code(here(request), code, request.at)
    style = now.layout.style if now.layout else ""

    def do(key: str, typed: dict[str, str]) -> str:
        is_for_style = typed.get("holds") == "style"
        set_range(
            showroom=here(request),
            key=key,
            sides={side: whole_or_decimal(typed.get(side, ""), side) for side in SIDES},
            reason=typed.get("reason", ""),
            by=acting(request),
            at=request.at,
            tank=None if is_for_style else now.tank,
            style=style if is_for_style else "",
        )
        return _("Holds from now on.")

    deed = deed_of(request, do)
    if deed.is_done:
        return redirect("tank_ranges", code)
    return render(
        request,
        "web/tank/ranges.html",
        {
            "now": now,
            "style": now.layout.get_style_display() if now.layout else "",
            "rows": holding(now.tank, style),
            "changes": [shown_change(one) for one in RangesThen(now.tank, style).changes()],
            "deed": deed,
            "trouble": deed.trouble,
            "at_field": deed.trouble.fields if deed.trouble else {},
            "typed": request.POST,
            "may_tank": may(acting(request), RIGHT_FOR_TANK),
            "may_style": may(acting(request), RIGHT_FOR_STYLE) and bool(style),
            "here": "tanks",
        },
        status=deed.status,
    )
