"""The round: which there are today, the page that walks one, and its end.

The walk itself is drawn in the browser from the round's pack, and every tap goes to the outbox;
the page only says where both are.
"""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.values.day import business_day
from gallery_ops.overview.who import SIGNED_KEY
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked
from gallery_ops.web.reach import cannot_keep
from maintenance.actions.desk import DESK, say_at_desk
from maintenance.queries.rounds import (
    RoundRow,
    next_seq,
    round_by_code,
    rounds_of_day,
    row_of,
)
from maintenance.services.rounds import ensure_rounds


@staff("record")
@require_http_methods(["GET", "POST"])
def round_list(request: Asked) -> HttpResponse:
    """Today's rounds, in walking order; laid out by hand where no job has done it yet."""
    showroom = here(request)
    today = business_day(request.at, showroom.tz, showroom.cut_off_hour)
    if request.method == "POST":
        ensure_rounds(showroom=showroom, on=today, at=request.at)
        return redirect("round_list")
    rows = [row for row in rounds_of_day(showroom, today) if row.tasks or row.kind == "opening"]
    return render(
        request,
        "web/round/list.html",
        {
            "rounds": rows,
            "now": _to_walk(rows),
            "today": today,
            "cannot_keep": cannot_keep(request),
        },
    )


@staff("record")
@require_GET
def round_stop(request: Asked, code: str) -> HttpResponse:
    """The shell in which the round is walked."""
    return _shell(request, code, "stop")


@staff("skip")
@require_GET
def round_skip(request: Asked, code: str) -> HttpResponse:
    """The same shell, opened where a task is skipped."""
    return _shell(request, code, "skip")


@staff("record")
@require_http_methods(["GET", "POST"])
def round_close(request: Asked, code: str) -> HttpResponse:
    """What was seen and what stays open, and one button; also for a desk without scripts."""
    round_ = round_by_code(here(request), code)
    if request.method == "POST":
        try:
            say_at_desk(
                kind="round_close",
                body={"left_open": [], "hand_over_to": None},
                by=acting(request),
                at=request.at,
                round_id=str(round_.uid),
            )
        except Held as no:
            messages.error(request, f"{no.sentence} {no.remedy}")
        else:
            messages.success(request, _("The round is closed."))
        return redirect("round_close", code=code)
    return render(request, "web/round/close.html", {"round": row_of(round_)})


def _shell(request: Asked, code: str, screen: str) -> HttpResponse:
    round_ = round_by_code(here(request), code)
    device = request.who.device
    shell: dict[str, Any] = {
        "screen": screen,
        "pack": reverse("api_pack", args=[round_.uid]),
        "outbox": reverse("api_outbox"),
        "device": device.uid if device else DESK,
        "next_seq": next_seq(device) if device else 1,
        "keeps": "tablet" if device else "page",
        "proof": "session",
        "signed_in": request.session.get(SIGNED_KEY, ""),
        "unlock": reverse("api_tablet_sign_in"),
        "tries": reverse("api_tablet_tries"),
        "worker": reverse("service_worker"),
        "list": reverse("round_list"),
        "board": _address("day_board") or reverse("round_list"),
        "first_minute": _address("first_minute"),
        "sign_in": reverse("tile_sign_in" if device else "sign_in"),
    }
    return render(
        request,
        "web/round/stop.html",
        {"round": round_, "shell": shell, "cannot_keep": cannot_keep(request)},
    )


def _address(name: str) -> str:
    try:
        return reverse(name)
    except NoReverseMatch:
        return ""


def _to_walk(rows: list[RoundRow]) -> RoundRow | None:
    """The first that is not over."""
    return next((row for row in rows if row.state != "done"), None)
