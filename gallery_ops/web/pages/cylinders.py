"""Cylinders by room, one room's air, and one cylinder."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods

from gallery_ops.kernel.errors import Forbidden, GalleryError
from gallery_ops.kernel.rights import may
from gallery_ops.kernel.values.codes import printed
from gallery_ops.kernel.values.quantity import Mass
from gallery_ops.overview.cylinder_page import (
    CylinderPage,
    OneLetsGo,
    RoomGas,
    RoomView,
    cylinder_page,
    who_may_change,
)
from gallery_ops.overview.cylinder_page import room_gas as gas_of
from gallery_ops.web import cylinder_words, room_words, words
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.forms.room import AirForm, RoomForm
from gallery_ops.web.middleware import Asked
from inventory.queries.cylinder_register import CylinderRow, cylinder_row
from tanks.science.room_air import EIGHT_HOURS_PPM, FIFTEEN_MINUTES_PPM
from tanks.services.rooms import check_room_air, measure_room


@staff()
@require_GET
def cylinder_list(request: Asked) -> HttpResponse:
    """By room, the room with something to say first; the store has its own line."""
    page = cylinder_page(here(request), request.at)
    today = request.at.astimezone(here(request).tz).date()
    axis = cylinder_words.axis_of(page.rows[0].today if page.rows else today)
    first, second = room_words.lede(page)

    def views(rows: tuple[CylinderRow, ...]) -> list[dict[str, Any]]:
        return [_row(page, row, axis, request.at) for row in rows]

    shown = {room.air.room.pk for room in page.rooms}
    return render(
        request,
        "web/cylinders/list.html",
        {
            "page": page,
            "first": first,
            "second": second,
            "rooms": [_room(room, views, request.at) for room in page.rooms],
            "nowhere": views(page.nowhere),
            "store": views(page.store),
            "away": views(page.away),
            "store_words": room_words.store_words(page),
            "months": cylinder_words.months_head(axis),
            "false_alarms": cylinder_words.false_alarms(),
            "label_query": urlencode([("container", row.container.code) for row in page.rows]),
            "other_rooms": [air.room for air in page.airs if air.room.pk not in shown],
            "here": "stock",
        },
    )


def _row(page: CylinderPage, row: CylinderRow, axis: Any, now: datetime) -> Any:
    return cylinder_words.row_view(row, page.titles, axis, now, room_words.spare_words(page, row))


def _room(room: RoomView, views: Any, now: datetime) -> dict[str, Any]:
    step = room.number.step if room.number else 0
    strong, rest = room_words.step_words(step)
    n = len(room.quiet)
    head = ngettext("One more, as planned", "%(n)s more, as planned", n)
    if not room.speaking:
        head = ngettext("One, as planned", "%(n)s, as planned", n)
    return {
        "view": room,
        "air": room_words.air_words(room.air, now),
        "mark": room_words.STEP_MARKS[step],
        "tone": room_words.STEP_TONES[step],
        "strong": strong,
        "rest": rest,
        "carried": room_words.carried_words(room),
        "line": room_words.room_line(room.number),
        "speaking": views(room.speaking),
        "quiet": views(room.quiet),
        "quiet_head": head % {"n": room_words.count_words(n)},
        "quiet_words": room_words.quiet_words(room),
    }


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


@staff()
@require_GET
def cylinder_detail(request: Asked, code: str) -> HttpResponse:
    """One cylinder: stamp, place, what it fed, what went a day, and what can be done with it."""
    row = cylinder_row(here(request), code, request.at)
    page = cylinder_page(here(request), request.at)
    axis = cylinder_words.axis_of(row.today)
    view = _row(page, row, axis, request.at)
    detail = row.detail
    room = next((air.room for air in page.airs if air.room.pk == row.room_id), None)
    able = [member.person.name for member in who_may_change(here(request), request.at)]
    me = acting(request)
    return render(
        request,
        "web/cylinders/detail.html",
        {
            "row": row,
            "v": view,
            "room": room,
            "printed": printed(row.container.code),
            "tare": Mass(row.container.tare_mg or 0),
            "regulator": Mass(detail.regulator_mg) if detail.regulator_mg else None,
            "rule": cylinder_words.rule_words(row),
            "periods": [
                (
                    p,
                    ""
                    if p.g_per_day is None
                    else f"{p.g_per_day:.2f}".replace(".", words.mark_in_use()),
                )
                for p in row.line.periods
            ],
            "run": cylinder_words.run_words(row),
            "limit": cylinder_words.limit_words(),
            "weighed": [(seen, Mass(max(0, seen.net))) for seen in reversed(row.weighed[-12:])],
            "able": able,
            "is_able": me.person.name in able,
            "may_record": may(me, "record"),
            "may_correct": may(me, "correct"),
            "may_retire": may(me, "plan.change"),
            "months": cylinder_words.months_head(axis),
            "back": reverse("cylinder_list"),
            "here": "stock",
        },
    )
