"""Who lives in this tank? Animals come, go across, leave and are counted again."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.rights import may
from gallery_ops.overview.animals_page import animals_came, animals_page, animals_went
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.forms.numbers import whole_or_decimal
from gallery_ops.web.middleware import Asked


@staff("record")
@require_http_methods(["GET", "POST"])
def tank_animals(request: Asked, code: str) -> HttpResponse:
    """The list, and two forms: animals came, and animals went or were counted."""

    def do(deed: str, typed: dict[str, str]) -> str:
        count, seen = _heads(typed, "count"), _heads(typed, "seen")
        write = animals_came if deed == "came" else animals_went
        row = write(
            by=acting(request), code=code, at=request.at, typed=typed, count=count, seen=seen
        )
        name = row.batch.species.vernacular_name or row.batch.species.scientific_name
        if row.kind == "recount":
            return _("Counted again: %(n)s %(name)s.") % {"n": count, "name": name}
        words = {"n": count, "name": name, "what": row.get_kind_display()}
        return (
            ngettext(
                "Written down: %(n)s animal, %(name)s, %(what)s.",
                "Written down: %(n)s animals, %(name)s, %(what)s.",
                count,
            )
            % words
        )

    deed = deed_of(request, do)
    if deed.is_done:
        return redirect("tank_animals", code)
    page = animals_page(here(request), code, request.at)
    return render(
        request,
        "web/tank/animals.html",
        {
            "page": page,
            "now": page.now,
            "deed": deed,
            "trouble": deed.trouble,
            "typed": request.POST,
            "may_plan": may(acting(request), "plan.change"),
            "here": "tanks",
        },
        status=deed.status,
    )


def _heads(typed: dict[str, str], name: str) -> int:
    count = whole_or_decimal(typed.get(name, ""), name)
    if count is None or count != int(count) or not 0 <= count <= 100_000:
        allowed = _("A whole number of animals, 0 to 100,000.")
        raise Refused("no_such_count", _("How many?"), {name: allowed})
    return int(count)
