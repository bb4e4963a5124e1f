"""May this person see this page? One decorator, which asks the same matrix as the services."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, cast

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.queries.people import has_showroom
from gallery_ops.kernel.rights import may, require
from gallery_ops.web.faults import forbidden
from gallery_ops.web.middleware import Asked

Page = Callable[..., HttpResponse]


def staff(right: str = "read") -> Callable[[Page], Page]:
    """Only for somebody who works here and has the right; others sign in, or are told who may.

    A thing of another showroom (``Unknown``) answers as a page that is not there.
    """

    def decorate(page: Page) -> Page:
        @wraps(page)
        def inner(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            asked = cast("Asked", request)
            if asked.who.membership is None:
                return sign_in_first(asked)
            if not may(asked.who.membership, right):
                return forbidden(request, _refusal(asked.who.membership, right))
            try:
                return page(asked, *args, **kwargs)
            except Unknown:
                raise Http404 from None
            except Forbidden as no:
                return forbidden(request, no)

        inner.right = right  # type: ignore[attr-defined]
        return inner

    return decorate


def sign_in_first(asked: Asked) -> HttpResponse:
    """To the tiles on an enrolled tablet, to name and password elsewhere, and back here."""
    if asked.who.device is None and not has_showroom():
        return redirect("first_run")
    name = "tile_sign_in" if asked.who.device is not None else "sign_in"
    back = asked.get_full_path() if asked.method == "GET" else ""
    return redirect(f"{reverse(name)}?{urlencode({'next': back})}" if back else reverse(name))


def home_of(membership: Membership) -> str:
    """Where somebody begins: the board, or for a guest designer their own layouts."""
    return reverse("day_board" if may(membership, "read") else "own_layouts")


def acting(asked: Asked) -> Membership:
    """Whoever acts; only on pages behind :func:`staff`."""
    if asked.who.membership is None:
        raise TypeError("acting() is for pages behind staff()")
    return asked.who.membership


def here(asked: Asked) -> Showroom:
    """The showroom of whoever acts."""
    return acting(asked).showroom


def _refusal(membership: Membership, right: str) -> Refused | None:
    try:
        require(membership, right)
    except Refused as no:
        return no
    return None
