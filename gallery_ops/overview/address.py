"""From which address was this asked? Counted where somebody tries to get in.

Every proxy writes the address it was asked from at the end of ``X-Forwarded-For``. What stands
before the addresses of our own proxies came with the request, and anybody may write anything there.
"""

from __future__ import annotations

from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest


def client_address(request: HttpRequest) -> str:
    """The address as the outermost of our own proxies saw it; empty when it is not known.

    ``GALLERY_OPS_PROXIES`` says how many of ours stand in front; with none of them the header is
    not looked at.
    """
    asked_from = str(request.META.get("REMOTE_ADDR", ""))
    proxies: int = settings.TRUSTED_PROXIES
    written = request.headers.get("X-Forwarded-For", "").split(",")
    forwarded = [part.strip() for part in written if part.strip()]
    if proxies and len(forwarded) >= proxies:
        asked_from = forwarded[-proxies]
    return _plain(asked_from)


def _plain(text: str) -> str:
    """The address without its port; empty for what is none."""
    if text.startswith("["):
        text = text[1:].partition("]")[0]
    elif text.count(":") == 1:
        text = text.partition(":")[0]
    try:
        return str(ip_address(text))
    except ValueError:
        return ""
