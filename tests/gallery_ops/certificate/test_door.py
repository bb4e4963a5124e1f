"""Does the page without https give the certificate and nothing else of the gallery?"""

from __future__ import annotations

from pathlib import Path

import pytest

from gallery_ops.certificate.door import App, make_door

pytestmark = pytest.mark.once

Answer = tuple[str, dict[str, str], bytes]


@pytest.fixture
def door(tmp_path: Path) -> App:
    page, static = tmp_path / "page", tmp_path / "static"
    page.mkdir()
    static.mkdir()
    (page / "index.html").write_bytes(b"<h1>trust</h1>")
    (page / "gallery.crt").write_bytes(b"public")
    (tmp_path / "signer.pem").write_bytes(b"PRIVATE KEY")
    (static / "base.css").write_bytes(b"a{}")
    return make_door(page, static)


def ask(door: App, path: str, method: str = "GET") -> Answer:
    seen: list[tuple[str, dict[str, str]]] = []
    environ = {"REQUEST_METHOD": method, "PATH_INFO": path, "HTTP_HOST": "gallery.lan:8080"}
    parts = door(environ, lambda status, headers: seen.append((status, dict(headers))))
    body = b"".join(parts)
    getattr(parts, "close", bool)()  # as a server does with an open file
    return (*seen[0], body)


def test_it_gives_the_page_and_the_certificate(door: App) -> None:
    status, headers, body = ask(door, "/")
    assert (status, body) == ("200 OK", b"<h1>trust</h1>")
    assert headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert "Set-Cookie" not in headers
    status, headers, body = ask(door, "/gallery.crt")
    assert (headers["Content-Type"], body) == ("application/x-x509-ca-cert", b"public")
    assert ask(door, "/gallery.crt", "HEAD")[2] == b""
    assert ask(door, "/static/base.css")[0] == "200 OK"


@pytest.mark.parametrize(
    ("path", "method"),
    [
        ("/rounds/", "GET"),
        ("/", "POST"),
        ("/signer.pem", "GET"),
        ("/../signer.pem", "GET"),
        ("/static/../../signer.pem", "GET"),
        ("/static/../page/gallery.crt", "GET"),
    ],
)
def test_whatever_else_is_asked_leads_to_the_page(door: App, path: str, method: str) -> None:
    status, headers, body = ask(door, path, method)
    assert (status, headers["Location"], body) == ("303 See Other", "/", b"")
