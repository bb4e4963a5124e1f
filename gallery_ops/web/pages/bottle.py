"""At a tank: is this its bottle, and what does a portion of its feeder give?"""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.overview import measure_page
from gallery_ops.overview.desk import act
from gallery_ops.overview.drawings import shapes
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import answer, attempt, typed_of
from gallery_ops.web.forms.measuring import typed_mass, typed_whole
from gallery_ops.web.middleware import Asked
from inventory.queries.bottle_check import check_bottle
from inventory.queries.supply import feeders
from tanks.queries.tanks import tank_by_code

PURPOSES = ("dose", "food")


@staff("record")
@require_GET
def bottle_check(request: Asked, code: str) -> HttpResponse:
    """A code typed or scanned against what feeds this tank; ``?bottle=`` is what a link holds."""
    showroom = here(request)
    now = tank_by_code(showroom, code, request.at)
    typed = request.GET.get("bottle", "")[:300]
    purpose = request.GET.get("for", "")
    purpose = purpose if purpose in PURPOSES else "dose"
    found = None
    if typed:
        found = check_bottle(
            showroom=showroom, tank=now.tank, purpose=purpose, code=typed, at=request.at
        )
    fed_by = [
        feeder
        for (_tank, what, _item), feeder in feeders(showroom, request.at, [now.tank.pk]).items()
        if what == purpose and feeder.tank_id == now.tank.pk
    ]
    return answer(
        request,
        "web/tank/bottle.html",
        None,
        {
            "now": now,
            "shape": shapes(showroom, request.at, [now])[now.code],
            "typed": typed,
            "purpose": purpose,
            "found": found,
            "fed_by": fed_by,
            "here": "tanks",
        },
    )


@staff("weigh")
@require_http_methods(["GET", "POST"])
def feeder_calibration(request: Asked, code: str) -> HttpResponse:
    """Twenty portions weighed: what one gives from now on, for this tank and food."""
    showroom = here(request)
    now = tank_by_code(showroom, code, request.at)
    typed = typed_of(request, "product", "portions", "mass")
    foods = measure_page.foods_of(showroom, now.tank, request.at)
    trouble = None
    if request.method == "POST":
        known = {str(item.uid) for item in foods}
        trouble = attempt(lambda: _feeder(request, now.code, typed, known), "mass")
        if trouble is None:
            messages.success(request, _("Written down. It holds from now on, never before."))
            return redirect("feeder_calibration", code=now.code)
    return answer(
        request,
        "web/tank/feeder.html",
        trouble,
        {
            "now": now,
            "shape": shapes(showroom, request.at, [now])[now.code],
            "typed": typed,
            "foods": foods,
            "rows": measure_page.portions_of(now.tank),
            "here": "tanks",
        },
    )


def _feeder(request: Asked, code: str, typed: dict[str, str], known: set[str]) -> None:
    if typed["product"] not in known:
        raise Refused(
            "nothing_said",
            _("Food: none was chosen."),
            {"product": _("Choose the food that is in the feeder.")},
        )
    act(
        by=acting(request),
        kind="feeder_calibration",
        at=request.at,
        body={
            "tank": code,
            "product": typed["product"],
            "portions": typed_whole(typed["portions"], _("Portions")),
            "mass_mg": typed_mass(typed["mass"], _("Mass of the portions")).mg,
            "text": typed["mass"][:40],
        },
    )
