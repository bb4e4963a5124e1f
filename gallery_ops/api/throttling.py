"""How often may one asker ask? Counted by the minute, far above what people and tablets need.

A tablet that was away for a fortnight sends its entries in some forty requests; a program that
polls every second asks sixty times a minute. Whoever is over it gets 429 with ``Retry-After``, and
nothing of that request was looked at: a tablet keeps what it has and waits as long.
With Redis all processes count together; without it each counts for itself.
"""

from __future__ import annotations

import hashlib
import time
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from django.core.cache import cache
from django.http import HttpRequest
from rest_framework.exceptions import Throttled
from rest_framework.request import Request
from rest_framework.throttling import BaseThrottle

from gallery_ops.overview.address import client_address

if TYPE_CHECKING:
    from rest_framework.views import APIView

MINUTE_S = 60
MOST: Mapping[str, int] = {"nobody": 120, "program": 600, "person": 1200, "tablet": 600}
"""Requests a minute: of an address without a good sign-in, of a token, of somebody signed in, of an
enrolled tablet (common practice, no source)."""


class PerMinute(BaseThrottle):
    """At most so many requests a minute of whoever asks."""

    def __init__(self) -> None:
        self.now_s = time.time()

    def allow_request(self, request: Request, view: APIView) -> bool:
        """Count this request; False when it is one too many."""
        kind, who = _asker(request)
        return _count(kind, who, self.now_s) <= MOST[kind]

    def wait(self) -> float:
        """Until the next minute begins [s]."""
        return MINUTE_S - self.now_s % MINUTE_S


def wrong_secret(request: HttpRequest) -> None:
    """Count a secret that opened nothing; raises Throttled where an address tries too many."""
    now_s = time.time()
    if _count("nobody", client_address(request), now_s) > MOST["nobody"]:
        raise Throttled(wait=MINUTE_S - now_s % MINUTE_S)


def _asker(request: Request) -> tuple[str, str]:
    asker: Any = request.auth
    if asker is None:
        return "nobody", client_address(request._request)
    bearer = request.headers.get("Authorization", "")
    if bearer:
        return "program", hashlib.sha256(bearer.encode()).hexdigest()
    if asker.device is not None:
        return "tablet", str(asker.device.uid)
    return "person", str(asker.membership.person.uid)


def _count(kind: str, who: str, now_s: float) -> int:
    key = f"asked:{kind}:{who}:{int(now_s // MINUTE_S)}"
    cache.add(key, 0, timeout=2 * MINUTE_S)
    try:
        return int(cache.incr(key))
    except ValueError:  # it was thrown out between the two lines
        return 1
