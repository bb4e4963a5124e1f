"""By which address do tablets reach this gallery, and can a browser keep a round from it?

A browser opens a page without a network only when it came by https, or from the machine itself
(Secure Contexts, W3C; Service Workers, W3C). So it depends on how the page was asked for.
"""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal
from urllib.parse import urlsplit

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse

from gallery_ops.certificate.kept import read_state

How = Literal["own", "proxy", "here", "plain"]


@dataclass(frozen=True)
class Reach:
    """how : "own" https with a certificate of the gallery's own, "proxy" https that something in
    front speaks, "here" plain http on the machine itself, "plain" plain http from elsewhere.

    gallery, trust : addresses without a stroke at the end; trust is empty but for "own".
    """

    how: How
    gallery: str
    trust: str = ""
    fingerprint: str = ""
    authority_until: datetime | None = None

    @property
    def name(self) -> str:
        """Without scheme and port, as it stands in the certificate."""
        return urlsplit(self.gallery).hostname or ""

    @property
    def begin(self) -> str:
        """What a new tablet opens first."""
        return f"{self.trust}/" if self.trust else self.enrol

    @property
    def enrol(self) -> str:
        return f"{self.gallery}{reverse('device_enrol')}"

    @property
    def fingerprint_lines(self) -> list[str]:
        """In fours of pairs, to compare two screens."""
        pairs = self.fingerprint.split(":")
        return [" ".join(pairs[n : n + 8]) for n in range(0, len(pairs), 8)]


def own_reach() -> Reach | None:
    """Where deploy/start --lan serves; None otherwise."""
    if not settings.LAN_URL:
        return None
    state = read_state(Path(settings.CERTIFICATE_DIR)) if settings.CERTIFICATE_DIR else None
    if state is None:
        return Reach("own", settings.LAN_URL, settings.TRUST_URL)
    return Reach(
        "own", settings.LAN_URL, settings.TRUST_URL, state.fingerprint, state.authority_until
    )


def reach(request: HttpRequest) -> Reach:
    if own := own_reach():
        return own
    gallery = request.build_absolute_uri("/").rstrip("/")
    if request.is_secure():
        return Reach("proxy", gallery)
    return Reach("here" if is_this_machine(gallery) else "plain", gallery)


def cannot_keep(request: HttpRequest) -> bool:
    """True where no browser keeps a round: plain http, and not from the machine itself."""
    if request.is_secure() or settings.LAN_URL:
        return False
    return not is_this_machine(request.build_absolute_uri("/"))


def is_this_machine(url: str) -> bool:
    """Names and addresses that a browser trusts without https (Secure Contexts, 3.1)."""
    host = urlsplit(url).hostname or ""
    if host == "localhost" or host.endswith(".localhost"):
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
