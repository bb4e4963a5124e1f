"""First minute: what has happened, what must be done first, and the same on paper.

Open to everybody who stands before this machine, signed in or not: who needs a card must not look
for a PIN. Names and telephone numbers are shown to staff only, and only staff stamp a card.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import cast
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_http_methods, require_safe

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.rights import may
from gallery_ops.overview.first_minute import Hanging
from gallery_ops.overview.first_minute import first_minute as asked_minute
from gallery_ops.overview.incident_page import (
    Running,
    deed,
    incident_page,
    incident_rows,
    running,
)
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.faults import forbidden
from gallery_ops.web.middleware import Asked
from maintenance.queries.rota import OnShift
from maintenance.queries.rounds import next_seq


@require_safe
@cache_control(private=True, no_cache=True)
def first_minute(request: HttpRequest) -> HttpResponse:
    """The picker: each card already carries its first act."""
    asked = cast("Asked", request)
    return render(
        request, "web/incident/picker.html", {"minute": asked_minute(asked.who, asked.at)}
    )


@require_http_methods(["GET", "HEAD", "POST"])
@cache_control(private=True, no_cache=True)
def emergency_card(request: HttpRequest, key: str) -> HttpResponse:
    """One card: at most seven lines, whom to ring, what to say, what this program has stopped.

    For whoever may record each line is a button that keeps its second; the first opens the card.
    """
    asked = cast("Asked", request)
    minute = asked_minute(asked.who, asked.at, with_cylinders=True)
    card = next((each for each in minute.cards if each.key == key), None)
    if card is None:
        raise Http404
    if request.method == "POST":
        return _stamp(asked, key)
    member = asked.who.membership
    stamps = member is not None and may(member, "record")
    is_drill = request.GET.get("drill") == "1"
    state = (
        running(member, key, asked.at, of=request.GET.get("of", ""), is_drill=is_drill)
        if member is not None and stamps
        else None
    )
    lines = [
        {
            "line": line,
            "at": state.lines.get(number) if state else None,
            "other": next((each for each in minute.cards if each.key == line.card), None),
        }
        for number, line in enumerate(card.lines, 1)
    ]
    return render(
        request,
        "web/incident/card.html",
        {
            "minute": minute,
            "card": card,
            "lines": lines,
            "present": next((n for n, row in enumerate(lines, 1) if row["at"] is None), 0),
            "state": state,
            "out": _out(minute.at_work, state),
            "hanging": _hanging(minute.hanging, state) if card.stops == "room" else (),
            "opened_at": asked.at,
            "shell": _shell(asked),
        },
    )


def _shell(asked: Asked) -> dict[str, object]:
    """By what an enrolled tablet keeps a press that the gallery does not hear."""
    member, device = asked.who.membership, asked.who.device
    if member is None:
        return {}
    return {
        "person": member.person.uid,
        "zone": member.showroom.zone,
        "device": device.uid if device else "",
        "next_seq": next_seq(device) if device else "",
    }


def _hanging(rows: Iterable[Hanging], state: Running | None) -> list[Hanging]:
    """What hangs in the room that was said, else in every room."""
    here = [row for row in rows if state is not None and row.room == state.where]
    return here or list(rows)


def _out(at_work: Iterable[OnShift], state: Running | None) -> list[tuple[str, datetime | None]]:
    names = [person.name for person in at_work]
    seen = state.out if state is not None else {}
    return [(name, seen.get(name)) for name in dict.fromkeys([*names, _("Visitors")])]


def _stamp(asked: Asked, key: str) -> HttpResponse:
    """One press; back to the card, which now shows it."""
    member = asked.who.membership
    if member is None:
        return redirect(f"{reverse('sign_in')}?{urlencode({'next': asked.get_full_path()})}")
    if not may(member, "record"):
        return forbidden(asked, None)
    given = {name: str(value) for name, value in asked.POST.items()}
    uid = given.get("incident", "")
    try:
        deed(by=member, card=key, uid=uid, what=given.get("deed", ""), given=given, at=asked.at)
    except Refused as no:
        messages.error(asked, " ".join([no.sentence, *no.fields.values(), no.remedy]).strip())
    else:
        if given.get("deed") in {"over", "nothing"}:
            return redirect("incident", uid=uid)
    wanted = {"of": uid, **({"drill": "1"} if given.get("drill") == "1" else {})}
    return redirect(f"{reverse('emergency_card', args=[key])}?{urlencode(wanted)}")


@require_safe
@cache_control(private=True, no_cache=True)
def first_minute_print(request: HttpRequest) -> HttpResponse:
    """Every card, or the one that is named, on a sheet of A4 of its own, for the wall."""
    asked = cast("Asked", request)
    minute = asked_minute(asked.who, asked.at)
    wanted = request.GET.get("card", "")
    shown = [card for card in minute.cards if wanted in {"", card.key}]
    return render(request, "web/print/emergency_cards.html", {"minute": minute, "shown": shown})


@staff("read")
@require_safe
def incident_list(request: Asked) -> HttpResponse:
    """Every emergency and every drill, newest first; none is ever taken away."""
    showroom = here(request)
    return render(
        request,
        "web/incident/list.html",
        {"rows": incident_rows(showroom, request.at, showroom.language), "here": "alerts"},
    )


@staff("read")
@require_http_methods(["GET", "HEAD", "POST"])
def incident(request: Asked, uid: UUID) -> HttpResponse:
    """One emergency: each tap with its second, what rested, how long. A line may be added."""
    member, showroom = acting(request), here(request)
    page = incident_page(showroom, uid, request.at, member.person.language or showroom.language)
    if request.method == "POST":
        given = {name: str(value) for name, value in request.POST.items()}
        given["drill"] = "1" if page.row.is_drill else ""
        try:
            deed(
                by=member,
                card=page.row.card,
                uid=str(uid),
                what=given.get("deed", ""),
                given=given,
                at=request.at,
            )
        except Refused as no:
            messages.error(request, " ".join([no.sentence, no.remedy]).strip())
        return redirect("incident", uid=uid)
    return render(request, "web/incident/timeline.html", {"page": page, "here": "alerts"})
