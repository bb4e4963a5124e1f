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
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_GET, require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.values.day import business_day, local
from gallery_ops.overview.handover_page import OWN, close_and_hand_over, draft_for
from gallery_ops.overview.who import SIGNED_KEY
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked
from gallery_ops.web.pages.offline import shell_version
from gallery_ops.web.reach import cannot_keep
from maintenance.actions.desk import DESK
from maintenance.queries.handed import handed_to
from maintenance.queries.rota import who_works
from maintenance.queries.rounds import (
    RoundRow,
    next_seq,
    round_by_code,
    rounds_of_day,
    row_of,
    still_open_before,
)
from maintenance.services.rounds import ensure_rounds

KIND_WORDS = (
    ("changed", gettext_lazy("what changed")),
    ("worry", gettext_lazy("worries me")),
    ("do", gettext_lazy("do by")),
)


MIDDAY_FROM, CLOSING_FROM = 12, 16
"""Local hours from which the list leads to the next kind of round (common practice, no source)."""


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
    zones = {
        shift.zone_code
        for shift in who_works(showroom, today)
        if shift.person_id == acting(request).person_id
    }
    now = _to_walk(rows, local(request.at, showroom.tz).hour, zones)
    return render(
        request,
        "web/round/list.html",
        {
            "rounds": rows,
            "now": now,
            "before": still_open_before(rows, now.kind) if now else [],
            "today": today,
            "handed": handed_to(showroom, acting(request).person, today, at=request.at),
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
    """What was seen, what is handed over, what stays open, one button; also without scripts."""
    round_, by = round_by_code(here(request), code), acting(request)
    trouble: Refused | None = None
    typed = request.POST.dict()
    if request.method == "POST":
        typed["today"] = round_.business_on.isoformat()
        shown = request.POST.getlist("shown")
        try:
            n = close_and_hand_over(round_=round_, by=by, typed=typed, shown=shown, at=request.at)
        except Refused as no:
            trouble = no
        else:
            messages.success(request, _closed_words(n))
            return redirect("round_close", code=code)
    draft = draft_for(round_, by, request.at)
    return render(
        request,
        "web/round/close.html",
        {
            "round": row_of(round_),
            "draft": draft,
            "lines": [
                {
                    "line": line,
                    "text": typed.get(f"text {line.entry}", line.text),
                    "kind": typed.get(f"kind {line.entry}", line.kind),
                }
                for line in draft.lines
            ],
            "own": [
                {
                    "n": n,
                    "tank": typed.get(f"own tank {n}", ""),
                    "kind": typed.get(f"own kind {n}", "worry"),
                    "text": typed.get(f"own text {n}", ""),
                    "wrong": trouble.fields.get(f"own tank {n}", "") if trouble else "",
                }
                for n in range(1, OWN + 1)
            ],
            "to": typed.get("to", ""),
            "kinds": KIND_WORDS,
            "errors": [{"sentence": f"{trouble.sentence} {trouble.remedy}"}] if trouble else [],
        },
        status=422 if trouble else 200,
    )


def _closed_words(n: int) -> str:
    said = ngettext(
        "The round is closed, %(n)d line is handed over.",
        "The round is closed, %(n)d lines are handed over.",
        n,
    )
    return said % {"n": n} if n else _("The round is closed.")


def _shell(request: Asked, code: str, screen: str) -> HttpResponse:
    round_ = round_by_code(here(request), code)
    device = request.who.device
    shell: dict[str, Any] = {
        "screen": screen,
        "pack": reverse("api_pack", args=[round_.uid]),
        "outbox": reverse("api_outbox"),
        "emergencies": reverse("api_emergencies"),
        "device": device.uid if device else DESK,
        "next_seq": next_seq(device) if device else 1,
        "keeps": "tablet" if device else "page",
        "proof": "session",
        "signed_in": request.session.get(SIGNED_KEY, ""),
        "unlock": reverse("api_tablet_sign_in"),
        "tries": reverse("api_tablet_tries"),
        "worker": reverse("service_worker"),
        "list": reverse("round_list"),
        "paper": reverse("round_paper", args=[code]),
        "board": _address("day_board") or reverse("round_list"),
        "first_minute": _address("first_minute"),
        "sign_in": reverse("tile_sign_in" if device else "sign_in"),
    }
    page = render(
        request,
        "web/round/stop.html",
        {"round": round_, "shell": shell, "cannot_keep": cannot_keep(request)},
    )
    page["X-Gallery-Version"] = shell_version()
    return page


def _address(name: str) -> str:
    try:
        return reverse(name)
    except NoReverseMatch:
        return ""


def _to_walk(rows: list[RoundRow], hour: int, zones: set[str]) -> RoundRow | None:
    """Of the round of this hour the first that is not over, in the zone of whoever asks if it can
    be; else the first of the day.
    """
    kind = "opening" if hour < MIDDAY_FROM else "midday" if hour < CLOSING_FROM else "closing"
    waits = [row for row in rows if row.state != "done"]
    now = [row for row in waits if row.kind == kind]
    own = [row for row in now if row.zone in zones]
    return next(iter(own or now or waits), None)
