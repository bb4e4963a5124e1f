"""Light, filter, heater, pump of a tank: what is there, what was done to it, what does not fit."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.rights import may
from gallery_ops.overview.equipment_page import equipment_page
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.equipment_words import KIND_WORDS, found_words, shown
from gallery_ops.web.forms.equipment import figures_of, words_of
from gallery_ops.web.forms.numbers import whole_or_decimal
from gallery_ops.web.forms.reading import moment
from gallery_ops.web.middleware import Asked
from maintenance.services.filter_service import looked_after
from tanks.queries.equipment import piece_of
from tanks.queries.tanks import tank_by_code
from tanks.services import equipment


@staff()
@require_http_methods(["GET", "POST"])
def tank_equipment(request: Asked, code: str) -> HttpResponse:
    """Each piece with its figures, its services and its forms."""

    def do(deed: str, typed: dict[str, str]) -> str:
        done = _write(request, code, deed, typed)
        if done:
            return _("Written down, and the filter service that was due is done with it.")
        return _("Written down.")

    deed = deed_of(request, do, "flow")
    if deed.is_done:
        return redirect("tank_equipment", code)
    page = equipment_page(here(request), code, request.at)
    return render(
        request,
        "web/tank/equipment.html",
        {
            "page": page,
            "now": page.now,
            "pieces": [shown(piece) for piece in page.pieces],
            "found": [found_words(one) for one in page.found],
            "kinds": KIND_WORDS,
            "deed": deed,
            "trouble": deed.trouble,
            "at_field": deed.trouble.fields if deed.trouble else {},
            "typed": request.POST,
            "may_change": may(acting(request), "plan.change"),
            "may_record": may(acting(request), "record"),
            "here": "tanks",
        },
        status=deed.status,
    )


def _write(request: Asked, code: str, deed: str, typed: dict[str, str]) -> bool:
    """Write it; did it do a task that was due?"""
    by, at = acting(request), request.at
    tank = tank_by_code(here(request), code, at).tank
    from_at = moment(typed.get("from_at", ""), here(request).tz, "from_at")
    if deed == "add":
        kind = typed.get("kind", "")
        equipment.put_on(
            tank=tank,
            kind=kind,
            name=typed.get("name", ""),
            figures=figures_of(kind, typed),
            words=words_of(typed),
            by=by,
            at=at,
            from_at=from_at,
        )
        return False
    of = typed.get("of", "")
    piece = piece_of(tank, int(of)) if of.isascii() and of.isdecimal() else None
    if piece is None:
        raise Unknown("piece of equipment")
    if deed == "service":
        task = looked_after(
            equipment=piece,
            what=typed.get("what", ""),
            flow_l_per_h=whole_or_decimal(typed.get("flow", ""), "flow"),
            text=typed.get("text", ""),
            by=by,
            at=at,
        )
        return task is not None
    if deed == "change":
        equipment.change(
            equipment=piece,
            name=typed.get("name", ""),
            figures=figures_of(piece.kind, typed),
            words=words_of(typed),
            by=by,
            at=at,
            from_at=from_at,
        )
    elif deed == "take_off":
        equipment.take_off(equipment=piece, by=by, at=at, to_at=from_at)
    return False
