"""The day board: what today, who, what is late, in fifteen seconds."""

from __future__ import annotations

from django.http import HttpResponse, HttpResponseNotModified
from django.shortcuts import render
from django.views.decorators.http import require_GET

from gallery_ops.drawing import day_line, hours_axis
from gallery_ops.kernel.rights import may
from gallery_ops.overview.day_board import day_board as ask
from gallery_ops.overview.handover_page import left_for
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked

POLL_S = 15


@staff()
@require_GET
def day_board(request: Asked) -> HttpResponse:
    """The page; asked again by itself, it answers "not modified" while nothing has changed."""
    board = ask(here(request), request.at)
    left = left_for(acting(request), request.at)
    etag = f'"{board.counter}-{left.mark}"'
    poll = "poll" in request.GET
    if poll and request.headers.get("If-None-Match") == etag:
        return HttpResponseNotModified(headers={"ETag": etag})
    context = {
        "board": board,
        "left": left,
        "may_record": may(acting(request), "record"),
        "name": acting(request).person.name,
        "showroom": here(request),
        "stops": board.walk.stops("/tanks/{code}/"),
        "axis": hours_axis(board.hours),
        "lines": [
            {"name": p.name, "small": p.small, "svg": day_line(board.hours, p.works, label=p.name)}
            for p in board.people
        ],
        "as_list": request.GET.get("as") == "list",
        "here": "today",
        "now": request.at,
        "minutes_to_doors": int((board.doors_open_at - request.at).total_seconds() // 60),
    }
    template = "web/day/board_live.html" if poll else "web/day/board.html"
    answer = render(request, template, context)
    if poll:
        answer["ETag"] = etag
    return answer
