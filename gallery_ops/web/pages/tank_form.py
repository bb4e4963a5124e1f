"""A tank is added, or what was noted of it is put right, without any list."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.fleet_file.by_hand import write_tank
from gallery_ops.fleet_file.standing import KIND_OF, standing
from gallery_ops.kernel.errors import Refused
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.forms.tank import TankForm, values_of
from gallery_ops.web.middleware import Asked
from tanks.queries import places
from tanks.queries.tanks import TankNow, tank_by_code


@staff("plan.change")
@require_http_methods(["GET", "POST"])
def tank_add(request: Asked) -> HttpResponse:
    """A new tank."""
    form = TankForm(request.POST) if request.method == "POST" else TankForm()
    return _answer(request, form, None)


@staff("plan.change")
@require_http_methods(["GET", "POST"])
def tank_change(request: Asked, code: str) -> HttpResponse:
    """A tank that stands."""
    tank = tank_by_code(here(request), code, request.at)
    if tank.tank.retired_at is not None:
        messages.info(request, _("%(code)s is out of service.") % {"code": tank.code})
        return redirect("tank_back", code)
    if request.method == "POST":
        return _answer(request, TankForm(request.POST), tank)
    now = standing(here(request), request.at)
    planned = {
        purpose: base
        for purpose in KIND_OF
        if (base := now.planned_base(tank, purpose)) is not None
    }
    return _answer(request, TankForm(initial=values_of(tank, planned)), tank)


def _answer(request: Asked, form: TankForm, tank: TankNow | None) -> HttpResponse:
    if form.is_bound and form.is_valid():
        try:
            write_tank(
                showroom=here(request),
                file=form.file,
                by=acting(request),
                at=request.at,
                tank=tank,
                reason=form.cleaned_data["reason"],
            )
        except Refused as refused:
            form.add_refusals(refused.fields, str(refused))
        else:
            code = form.cleaned_data["code"]
            messages.success(request, _("%(code)s is written down.") % {"code": code})
            for question in form.file.questions:
                messages.info(request, question.sentence.removeprefix("Row 1, "))
            return redirect(_next(code))
    showroom = here(request)
    return render(
        request,
        "web/tank/form.html",
        {
            "here": "tanks",
            "form": form,
            "tank": tank,
            "rooms": [room.name for room in places.rooms(showroom)],
            "zones": [zone.code for zone in places.zones(showroom)],
            "designers": [designer.name for designer in places.designers(showroom)],
        },
        status=422 if form.errors else 200,
    )


def _next(code: str) -> str:
    """The tank's own page, or its form where there is none."""
    for name in ("tank_detail", "tank_change"):
        try:
            return reverse(name, args=[code])
        except NoReverseMatch:
            continue
    return reverse("tank_add")
