"""What the air of one room would get, how large the room is, and what its alarm showed."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Forbidden, GalleryError
from gallery_ops.kernel.rights import may
from gallery_ops.overview.cylinder_page import (
    OneLetsGo,
    RoomGas,
)
from gallery_ops.overview.cylinder_page import room_gas as gas_of
from gallery_ops.web import cylinder_words, room_words, words
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.forms.room import AirForm, RoomForm
from gallery_ops.web.middleware import Asked
from tanks.science.room_air import EIGHT_HOURS_PPM, FIFTEEN_MINUTES_PPM
from tanks.services.rooms import check_room_air, measure_room


@staff()
@require_http_methods(["GET", "POST"])
def room_gas(request: Asked, uid: UUID) -> HttpResponse:
    """What one cylinder of this room would do to its air; its volume and its alarm."""
    gas = gas_of(here(request), uid, request.at)
    room_form = RoomForm(initial=_room_initial(gas, request))
    air_form = AirForm(initial={"rang": ""})
    errors: list[dict[str, str]] = []
    if request.method == "POST":
        what = request.POST.get("what", "")
        form = RoomForm(request.POST) if what == "room" else AirForm(request.POST)
        if form.is_valid():
            try:
                answer = (_measure if what == "room" else _read)(request, gas, form.cleaned_data)
            except Forbidden:
                raise
            except GalleryError as no:
                form.refuse(no)
            else:
                return answer
        if isinstance(form, RoomForm):
            room_form = form
        else:
            air_form = form
        errors = form.summary()
    return render(
        request,
        "web/cylinders/room_gas.html",
        {
            "gas": gas,
            "air": room_words.air_words(gas.air, request.at),
            "each": [_each(one) for one in gas.each],
            "line": room_words.room_line(None),
            "displaced": words.number(gas.displaced_ppm or 0, 0),
            "inputs": room_words.inputs_words(gas),
            "room_form": room_form,
            "air_form": air_form,
            "errors": errors,
            "may_measure": may(acting(request), "plan.change"),
            "here": "stock",
        },
        status=422 if errors else 200,
    )


def _each(alike: tuple[OneLetsGo, ...]) -> dict[str, Any]:
    one, n = alike[0], len(alike)
    strong, rest = room_words.step_words(one.step)
    many = ngettext("one of %(fill)s", "any of %(n)s of %(fill)s", n)
    return {
        "art": cylinder_words.cylinder_svg(one.row.fill.mg / 1e6, 1),
        "name": many % {"n": room_words.count_words(n).lower(), "fill": words.amount(one.row.fill)},
        "mark": room_words.STEP_MARKS[one.step],
        "tone": room_words.STEP_TONES[one.step],
        "strong": strong,
        "rest": rest,
        "ppm": words.number(one.ppm, 0),
        "line": room_words.room_line(one),
        "rows": [
            {
                "name": ", ".join(each.row.codes) or each.row.detail.serial,
                "code": each.row.container.code,
                "now_ppm": words.number(each.now_ppm, 0),
            }
            for each in alike
        ],
    }


def _room_initial(gas: RoomGas, request: Asked) -> dict[str, Any]:
    room = gas.air.room
    alarm = "" if room.has_gas_alarm is None else "yes" if room.has_gas_alarm else "no"
    return {
        "volume_m3": room.volume_m3,
        "measured_by": room.volume_measured_by or acting(request).person.name,
        "measured_on": room.volume_measured_on,
        "has_gas_alarm": alarm,
    }


def _measure(request: Asked, gas: RoomGas, said: dict[str, Any]) -> HttpResponse:
    measure_room(
        room=gas.air.room,
        volume_m3=said["volume_m3"],
        measured_by=said["measured_by"],
        measured_on=said["measured_on"],
        has_gas_alarm=said["has_gas_alarm"] == "yes",
        by=acting(request),
        at=request.at,
    )
    messages.success(request, _("%(room)s is written down.") % {"room": gas.air.room.name})
    return redirect("room_gas", uid=gas.air.room.uid)


def _read(request: Asked, gas: RoomGas, said: dict[str, Any]) -> HttpResponse:
    ppm = said["co2_ppm"]
    check_room_air(
        room=gas.air.room,
        co2_ppm=ppm,
        is_test=bool(said["rang"]),
        rang={"yes": True, "no": False}.get(said["rang"]),
        by=acting(request),
        at=request.at,
    )
    if ppm is not None and ppm > FIFTEEN_MINUTES_PPM:
        return redirect("emergency_card", key="gas")
    if ppm is not None and ppm > EIGHT_HOURS_PPM:
        messages.error(
            request,
            _(
                "%(ppm)s ppm is above the 8-hour limit: everybody out, doors open from outside, "
                "ring. Nobody goes in before a competent person has decided."
            )
            % {"ppm": words.number(ppm, 0)},
        )
    elif said["rang"] == "no":
        messages.error(
            request,
            _("An alarm that does not ring is none: keep people out, ring who looks after it."),
        )
    else:
        messages.success(request, _("The room alarm is written down."))
    return redirect("room_gas", uid=gas.air.room.uid)
