"""Cylinders by room, one room's air, and one cylinder."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET

from gallery_ops.kernel.rights import may
from gallery_ops.kernel.values.codes import printed
from gallery_ops.kernel.values.quantity import Mass
from gallery_ops.overview.cylinder_page import (
    CylinderPage,
    RoomView,
    cylinder_page,
    who_may_change,
)
from gallery_ops.web import cylinder_words, room_words, words
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked
from inventory.queries.cylinder_register import CylinderRow

MOST_DRAWN = 40
"""Cylinders as planned of one room that are drawn when it is unfolded; more are only named."""


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
        "quiet": views(room.quiet) if n <= MOST_DRAWN else [],
        "quiet_links": [] if n <= MOST_DRAWN else [_link(row) for row in room.quiet],
        "quiet_head": head % {"n": room_words.count_words(n)},
        "quiet_words": room_words.quiet_words(room) if n <= MOST_DRAWN else "",
    }


def _link(row: CylinderRow) -> tuple[str, str]:
    return row.container.code, f"{', '.join(row.codes)} ({row.detail.serial})"


@staff()
@require_GET
def cylinder_detail(request: Asked, code: str) -> HttpResponse:
    """One cylinder: stamp, place, what it fed, what went a day, and what can be done with it."""
    page = cylinder_page(here(request), request.at)
    row = page.of(code)
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
