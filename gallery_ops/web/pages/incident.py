"""First minute: what has happened, what must be done first, and the same on paper.

Open to everybody who stands before this machine, signed in or not: who needs a card must not look
for a PIN. Names and telephone numbers are shown to staff only.
"""

from __future__ import annotations

from typing import cast

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from gallery_ops.overview.first_minute import first_minute as asked_minute
from gallery_ops.web.middleware import Asked

GAS = "gas"


@require_safe
@cache_control(private=True, no_cache=True)
def first_minute(request: HttpRequest) -> HttpResponse:
    """The picker: each card already carries its first act."""
    asked = cast("Asked", request)
    return render(
        request, "web/incident/picker.html", {"minute": asked_minute(asked.who, asked.at)}
    )


@require_safe
@cache_control(private=True, no_cache=True)
def emergency_card(request: HttpRequest, key: str) -> HttpResponse:
    """One card: at most seven lines, whom to ring, what to say, what this program cannot do."""
    asked = cast("Asked", request)
    minute = asked_minute(asked.who, asked.at, with_cylinders=key == GAS)
    card = next((each for each in minute.cards if each.key == key), None)
    if card is None:
        raise Http404
    return render(
        request,
        "web/incident/card.html",
        {
            "minute": minute,
            "card": card,
            "others": [each for each in minute.cards if each.key != key],
            "opened_at": asked.at,
        },
    )


@require_safe
@cache_control(private=True, no_cache=True)
def first_minute_print(request: HttpRequest) -> HttpResponse:
    """Every card on a sheet of A4 of its own, for the wall."""
    asked = cast("Asked", request)
    return render(
        request, "web/print/emergency_cards.html", {"minute": asked_minute(asked.who, asked.at)}
    )
