"""Who asks an endpoint: a person in a browser, an enrolled tablet, or a program with a token?

Whoever it is brings the showroom along; no address names one. A browser that changes something must
be one of our own pages: it sends the header ``X-Gallery-Ops``, which no page of another origin can
set, and its origin, if it names one, is ours; or it sends Django's own token.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from django.contrib.auth.models import AnonymousUser
from django.http import HttpResponse
from django.utils import translation
from rest_framework.authentication import BaseAuthentication, CSRFCheck
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from gallery_ops.api.problems import FromElsewhere
from gallery_ops.api.throttling import wrong_secret
from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Device, Membership, Showroom
from gallery_ops.kernel.queries.devices import device_ever, token_by_secret
from gallery_ops.kernel.rights import may, require
from gallery_ops.kernel.services.tokens import token_used
from gallery_ops.overview.who import DEVICE_COOKIE

if TYPE_CHECKING:
    from rest_framework.views import APIView

OWN_HEADER = "X-Gallery-Ops"
SAFE_METHODS = ("GET", "HEAD", "OPTIONS")
LONGEST_SECRET = 200


@dataclass(frozen=True, slots=True)
class Asker:
    """Whoever asks. A tablet that nobody is signed in on has no membership."""

    showroom: Showroom
    membership: Membership | None = None
    device: Device | None = None

    @property
    def person(self) -> Membership:
        """The acting person; endpoints that need one ask for a right first."""
        if self.membership is None:
            raise TypeError("this endpoint is for people")
        return self.membership


def asker_of(request: Request) -> Asker:
    """Whoever asks; behind one of our permissions there always is somebody."""
    if not isinstance(request.auth, Asker):
        raise TypeError("this endpoint has no permission class of ours")
    return request.auth


class TokenAuthentication(BaseAuthentication):
    """``Authorization: Bearer <secret>``: a program, for one membership and some of its rights."""

    def authenticate(self, request: Request) -> tuple[Any, Asker] | None:
        kind, _, secret = request.headers.get("Authorization", "").partition(" ")
        if kind.lower() != "bearer":
            return None
        at = clock.now()
        try:
            if not secret.strip() or len(secret) > LONGEST_SECRET:
                raise Unknown("token")
            token = token_by_secret(secret.strip(), at=at)
        except Unknown:
            wrong_secret(request._request)
            raise AuthenticationFailed(
                "This token is wrong, has ended or was revoked. Ask a manager for a new one."
            ) from None
        token_used(token=token, at=at)
        member = token.membership
        translation.activate(member.person.language or member.showroom.language)
        return member.person, Asker(showroom=member.showroom, membership=member)

    def authenticate_header(self, request: Request) -> str:
        return 'Bearer realm="gallery"'


class BrowserAuthentication(BaseAuthentication):
    """The session of a signed-in person, on a tablet or at a desk."""

    def authenticate(self, request: Request) -> tuple[Any, Asker] | None:
        who = getattr(request._request, "who", None)
        if who is None or who.membership is None:
            return None
        check_origin(request)
        member = who.membership
        return member.person, Asker(
            showroom=member.showroom, membership=member, device=_ever(request)
        )


class TabletAuthentication(BaseAuthentication):
    """An enrolled tablet on which nobody is signed in just now, or one that was revoked.

    For the outbox only: what was tapped arrives whoever holds the tablet.
    """

    def authenticate(self, request: Request) -> tuple[Any, Asker] | None:
        device = _ever(request)
        if device is None:
            return None
        check_origin(request)
        return AnonymousUser(), Asker(showroom=device.showroom, device=device)


class MayAsk(BasePermission):
    """Somebody is signed in and has the right that the view names (for this method)."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        asker = request.auth
        if not isinstance(asker, Asker) or asker.membership is None:
            return False
        rights = getattr(view, "rights", {})
        require(asker.membership, rights.get(request.method, "read"), in_=asker.showroom)
        return True


class MayAskAny(BasePermission):
    """Somebody is signed in and has one of the rights that the view names in ``any_of``."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        asker = request.auth
        if not isinstance(asker, Asker) or asker.membership is None:
            return False
        rights: tuple[str, ...] = getattr(view, "any_of", ("read",))
        if not any(may(asker.membership, right) for right in rights):
            require(asker.membership, rights[0], in_=asker.showroom)
        return True


class MaySend(BasePermission):
    """A tablet, or somebody who may record, weigh or skip."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        asker = request.auth
        if not isinstance(asker, Asker):
            return False
        if asker.device is None:
            require(asker.membership, "record", in_=asker.showroom)
        return True


def check_origin(request: Request) -> None:
    """Refuse a change that a page of another origin sent with our cookies.

    Raises FromElsewhere.
    """
    if request.method in SAFE_METHODS:
        return
    origin = request.headers.get("Origin", "")
    if request.headers.get(OWN_HEADER):
        if not origin or _is_ours(request, origin):
            return
        raise FromElsewhere(f"The origin {origin[:80]} is not this gallery.")
    check = CSRFCheck(_no_page)
    check.process_request(request._request)
    if check.process_view(request._request, _no_page, (), {}):
        raise FromElsewhere(
            f"Send the header {OWN_HEADER}, or the form's token as X-CSRFToken: load the page anew."
        )


def _no_page(_request: object) -> HttpResponse:
    """What the check would lead to; it never gets there."""
    return HttpResponse()


def _is_ours(request: Request, origin: str) -> bool:
    parts = urlsplit(origin)
    return (parts.scheme, parts.netloc) == (request.scheme, request.get_host())


def _ever(request: Request) -> Device | None:
    token = request.COOKIES.get(DEVICE_COOKIE, "")
    return device_ever(token) if token and len(token) <= LONGEST_SECRET else None
