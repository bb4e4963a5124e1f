"""The one page without https: it gives a tablet the certificate that it does not trust yet.

It has no database, no cookie, no session and no other part of the program in its process: a page
written beforehand, the public part of the authority, and the styles and letters of our own pages.
Whatever else is asked for leads to the page.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from whitenoise import WhiteNoise

Environ = dict[str, Any]
Begin = Callable[[str, list[tuple[str, str]]], Any]
App = Callable[[Environ, Begin], Iterable[bytes]]
CERTIFICATE = "/gallery.crt"
POLICY = (
    "default-src 'none'; style-src 'self'; font-src 'self'; img-src 'self'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
ALWAYS = [
    ("Content-Security-Policy", POLICY),
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Cache-Control", "no-store"),
]
FILES = {
    "/": ("index.html", "text/html; charset=utf-8"),
    # The type by which tablets know that this is something to trust and not to read (RFC 2585
    # gives application/pkix-cert for one certificate; this older one is what they act upon).
    CERTIFICATE: ("gallery.crt", "application/x-x509-ca-cert"),
}


def make_door(page: Path, static: Path) -> App:
    """`page` as `kept.write_page` left it; `static` the collected files of the program."""
    answers = {path: ((page / name).read_bytes(), kind) for path, (name, kind) in FILES.items()}

    def door(environ: Environ, begin: Begin) -> Iterable[bytes]:
        found = answers.get(environ["PATH_INFO"])
        if environ["REQUEST_METHOD"] not in {"GET", "HEAD"} or found is None:
            begin("303 See Other", [*ALWAYS, ("Location", "/"), ("Content-Length", "0")])
            return []
        body, kind = found
        begin("200 OK", [*ALWAYS, ("Content-Type", kind), ("Content-Length", str(len(body)))])
        return [] if environ["REQUEST_METHOD"] == "HEAD" else [body]

    return WhiteNoise(door, root=str(static), prefix="static/")


def application(environ: Environ, begin: Begin) -> Iterable[bytes]:
    """For gunicorn; made at the first question, in the process that answers."""
    global _door
    if _door is None:
        page = Path(os.environ["GALLERY_OPS_CERTIFICATE"]) / "page"
        _door = make_door(page, Path(os.environ["GALLERY_OPS_DATA"]) / "static")
    return _door(environ, begin)


_door: App | None = None
