"""A started gallery that serves https of its own, asked as a tablet asks that trusts only it."""

from __future__ import annotations

import http.client
import re
import socket
import ssl
import time
import urllib.request
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from gallery_ops.certificate.kept import ensure


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass
class OwnHttps:
    name: str
    port: int
    door_port: int
    data: Path

    @property
    def folder(self) -> Path:
        return self.data / "certificate" / self.name

    def ask(
        self, method: str, path: str, body: str = "", **headers: str
    ) -> tuple[int, http.client.HTTPMessage, str]:
        """Answer to one question over a connection of its own."""
        connection = http.client.HTTPSConnection(self.name, self.port, timeout=10)
        connection.sock = self._connected()
        typed = {"Content-Type": "application/x-www-form-urlencoded"} if body else {}
        connection.request(method, path, body or None, {**typed, **headers})
        answer = connection.getresponse()
        text = answer.read().decode()
        connection.close()
        return answer.status, answer.headers, text

    def _connected(self) -> ssl.SSLSocket:
        trusts = ssl.create_default_context(cafile=str(self.folder / "authority.crt"))
        plain = socket.create_connection(("127.0.0.1", self.port), timeout=10)
        return trusts.wrap_socket(plain, server_hostname=self.name)

    def serial(self) -> str:
        """Number of the certificate that is shown now."""
        with self._connected() as shown:
            return str((shown.getpeercert() or {})["serialNumber"])

    def door(self, path: str) -> bytes:
        url = f"http://127.0.0.1:{self.door_port}{path}"
        with urllib.request.urlopen(url, timeout=10) as answer:
            return bytes(answer.read())


def check(gallery: OwnHttps) -> None:
    """It opens, keeps cookies to https, takes a form, gives its certificate and renews it."""
    status, headers, page = gallery.ask("GET", "/first-run/")
    assert status == 200
    cookie = headers["Set-Cookie"]
    assert "Secure" in cookie
    assert "Strict-Transport-Security" not in headers
    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page)
    assert token
    origin = f"https://{gallery.name}:{gallery.port}"
    form = f"csrfmiddlewaretoken={token[1]}"
    sent = {"Cookie": cookie.partition(";")[0], "Referer": f"{origin}/first-run/"}
    status, _, _ = gallery.ask("POST", "/first-run/", form, Origin=origin, **sent)
    assert status == 422  # read and found empty; a form from elsewhere is not read at all:
    assert gallery.ask("POST", "/first-run/", form, Origin="https://a.example", **sent)[0] == 403

    assert gallery.door("/gallery.crt") == (gallery.folder / "authority.crt").read_bytes()
    assert f"{origin}/tablets/enrol/".encode() in gallery.door("/first-run/")
    modes = {path.name: path.stat().st_mode & 0o777 for path in gallery.folder.glob("*.pem")}
    assert modes == {"signer.pem": 0o600, "server.pem": 0o600}

    before = gallery.serial()
    (gallery.folder / "server.pem").unlink()
    ensure(gallery.folder, gallery.name, None, datetime.fromtimestamp(time.time(), UTC))
    assert gallery.serial() != before  # no program was started again
