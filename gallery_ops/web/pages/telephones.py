"""The numbers to ring: read by everybody who works here, changed by a manager."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Forbidden, Refused
from gallery_ops.kernel.rights import may
from gallery_ops.kernel.services.telephones import LONGEST, MOST, Number, change_telephones
from gallery_ops.overview.first_minute import first_minute
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked

SPARE = 3
"""So many empty rows stand under the list."""


@staff("read")
@require_http_methods(["GET", "HEAD", "POST"])
def telephones(request: Asked) -> HttpResponse:
    """The list in the order in which it is rung; a manager types it as it stands."""
    showroom, member = here(request), acting(request)
    trouble: Refused | None = None
    rows = [
        Number(**{key: str(row.get(key, "")) for key in ("name", "number", "what")})
        for row in showroom.telephones
        if isinstance(row, dict)
    ]
    if request.method == "POST":
        rows = _typed(request)
        try:
            change_telephones(showroom=showroom, numbers=rows, by=member, at=request.at)
        except Forbidden:
            raise
        except Refused as no:
            trouble = no
        else:
            messages.success(request, _("The list is kept. Tablets have it with their next round."))
            return redirect("telephones")
    fields = trouble.fields if trouble else {}
    return render(
        request,
        "web/incident/telephone_list.html",
        {
            "minute": first_minute(request.who, request.at),
            "rows": [
                {
                    "row": row,
                    "name_err": fields.get(f"name-{n}"),
                    "number_err": fields.get(f"number-{n}"),
                    "what_err": fields.get(f"what-{n}"),
                }
                for n, row in enumerate([*rows, *[Number("", "")] * SPARE][: MOST + SPARE])
            ],
            "may_change": may(member, "person.change"),
            "trouble": trouble,
            "longest": LONGEST,
        },
        status=422 if trouble else 200,
    )


def _typed(request: Asked) -> list[Number]:
    lists = [request.POST.getlist(key)[: MOST + SPARE] for key in ("name", "number", "what")]
    longest = max(len(one) for one in lists)
    names, numbers, whats = ([*one, *[""] * (longest - len(one))] for one in lists)
    return [Number(*row) for row in zip(names, numbers, whats, strict=True)]
