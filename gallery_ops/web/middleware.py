"""Each request gets its ``who``, its language and its zone, and is locked when it lay idle."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, cast

from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse
from django.utils import timezone, translation

from gallery_ops.kernel import clock
from gallery_ops.overview.who import DEVICE_KEY, TOUCHED_KEY, Who, who_asks
from gallery_ops.web.words import use_mark

if TYPE_CHECKING:

    class Asked(HttpRequest):
        """A request after this middleware."""

        who: Who
        at: datetime

else:
    Asked = HttpRequest

PUBLIC_DOORS = ("/v/", "/drawings/")
"""What lies behind these is the same for everybody: no cookie is read or set."""
BY_ITSELF = "poll"
"""In the address of what a page asks without a hand on it; it does not keep a tablet unlocked."""
TOUCH_STEP_S = 30
"""The session is written at most so often, not on each request [s]."""

Answer = Callable[[HttpRequest], HttpResponse]


class WhoMiddleware:
    """Sets ``request.who`` and ``request.at``, and speaks as person and showroom do."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        asked = cast("Asked", request)
        asked.at = clock.now()
        if request.path.startswith(PUBLIC_DOORS):
            asked.who = Who()
            timezone.deactivate()
            return self.get_response(request)
        asked.who = who_asks(request.user, request.session, request.COOKIES, asked.at)
        if asked.who.is_locked:
            logout(request)
        elif asked.who.membership is not None and request.session.get(DEVICE_KEY) is not None:
            self._touch(request, asked.at)
        self._tongue(asked)
        return self.get_response(request)

    def _touch(self, request: HttpRequest, at: datetime) -> None:
        if BY_ITSELF in request.GET:
            return
        now = at.timestamp()
        if now - float(request.session.get(TOUCHED_KEY) or 0) > TOUCH_STEP_S:
            request.session[TOUCHED_KEY] = now

    def _tongue(self, asked: Asked) -> None:
        who = asked.who
        if who.showroom is not None:
            timezone.activate(who.showroom.tz)
            use_mark(who.showroom.decimal_mark)
        else:
            timezone.deactivate()
            use_mark(".")
        tongue = (who.person.language if who.person else "") or (
            who.showroom.language if who.showroom else ""
        )
        if tongue:
            translation.activate(tongue)
            asked.LANGUAGE_CODE = tongue
