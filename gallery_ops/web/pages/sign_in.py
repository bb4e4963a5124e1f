"""Who is here? A name tile and six digits on an enrolled tablet, name and password elsewhere."""

from __future__ import annotations

from typing import cast
from uuid import UUID

from django.contrib.auth import login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.queries.people import has_showroom, memberships_of
from gallery_ops.kernel.services.passwords import sign_in_by_password
from gallery_ops.kernel.services.pins import verify_pin
from gallery_ops.overview.sign_in import BACKEND, Tile, enter_on_tablet, tiles
from gallery_ops.overview.who import SHOWROOM_KEY
from gallery_ops.web.access import home_of
from gallery_ops.web.middleware import Asked

DIGITS = 6


@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Name and password; a wrong pair says so in the same words whatever was wrong."""
    asked = cast("Asked", request)
    if not has_showroom():
        return redirect("first_run")
    name, trouble = request.POST.get("login", ""), None
    if request.method == "POST":
        try:
            return _enter_by_password(asked, name)
        except Refused as no:
            trouble = no
    return render(
        request,
        "web/sign/password.html",
        {"login": name, "trouble": trouble, "next": _next(request)},
        status=422 if trouble else 200,
    )


def _enter_by_password(asked: Asked, name: str) -> HttpResponse:
    """Into the showroom of whoever signed in: the one chosen, or the first."""
    person = sign_in_by_password(asked, login=name, password=asked.POST.get("password", ""))
    found = memberships_of(person, asked.at)
    chosen = asked.POST.get("showroom", "")
    mine = [row for row in found if row.showroom.code == chosen] or found
    if not mine:
        raise Refused(
            "works_nowhere",
            "This name does not work in any gallery now.",
            remedy="Ask the owner to take you on again.",
        )
    login(asked, person, backend=BACKEND)
    asked.session[SHOWROOM_KEY] = mine[0].showroom_id
    return redirect(_next(asked) or home_of(mine[0]))


@sensitive_post_parameters("pin")
@require_http_methods(["GET", "POST"])
def tile_sign_in(request: HttpRequest) -> HttpResponse:
    """A tablet shows who works here; a tile and six digits, and the round goes on."""
    asked = cast("Asked", request)
    if asked.who.device is None:
        return redirect("sign_in")
    found = tiles(asked.who.device.showroom, asked.at)
    chosen = _chosen(found, request.POST.get("who") or request.GET.get("who", ""))
    trouble = None
    if request.method == "POST" and chosen is not None:
        try:
            verify_pin(
                membership=chosen.membership,
                device=asked.who.device,
                pin="".join(c for c in request.POST.get("pin", "") if c.isdigit()),
                at=asked.at,
            )
            enter_on_tablet(asked, chosen.membership, asked.who.device, asked.at)
            return redirect(_next(asked) or home_of(chosen.membership))
        except (Refused, Unknown) as no:
            trouble = no
    return render(
        request,
        "web/sign/tiles.html",
        {
            "tiles": found,
            "chosen": chosen,
            "trouble": trouble,
            "digits": range(DIGITS),
            "next": _next(request),
            "device": asked.who.device,
        },
        status=422 if trouble else 200,
    )


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """Out; what a tablet has not sent stays on it."""
    asked = cast("Asked", request)
    on_tablet = asked.who.device is not None
    logout(request)
    return redirect("tile_sign_in" if on_tablet else "sign_in")


def _chosen(found: list[Tile], text: str) -> Tile | None:
    try:
        uid = UUID(text)
    except ValueError:
        return None
    return next((tile for tile in found if tile.membership.person.uid == uid), None)


def _next(request: HttpRequest) -> str:
    """Where to go after it: only inside this gallery."""
    wanted = request.POST.get("next") or request.GET.get("next", "")
    inside = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if inside else ""
