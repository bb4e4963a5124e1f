"""How do tablets of one house reach this machine by https? Standard library only.

Behind `deploy/start --lan NAME`: the web server speaks https with the gallery's own certificate,
and a second, very small server beside it hands the certificate out before anybody trusts it.
"""

from __future__ import annotations

import argparse
import http.client
import os
import socket
import ssl
import subprocess
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urljoin, urlsplit

HOUSE = Path(__file__).resolve().parent.parent
sys.path.append(str(HOUSE))

import environment  # noqa: E402 - beside this file

from gallery_ops.certificate.names import Unfit, fit_address, fit_name  # noqa: E402

HTTPS_PORT, DOOR_PORT = 8443, 8080
DAY_S = 24 * 3600.0
HOPS = 5


def _fit(check: Callable[[str], str]) -> Callable[[str], str]:
    def read(text: str) -> str:
        try:
            return check(text)
        except Unfit as no:
            raise argparse.ArgumentTypeError(str(no)) from None

    return read


def add_options(parser: argparse.ArgumentParser, port_number: Callable[[str], int]) -> None:
    group = parser.add_argument_group("tablets of the house, by https")
    group.add_argument(
        "--lan",
        metavar="NAME",
        type=_fit(fit_name),
        help="serve https under this name, as gallery.lan, with a certificate of the gallery's own",
    )
    group.add_argument(
        "--lan-ip",
        metavar="ADDRESS",
        type=_fit(fit_address),
        help="this machine's address in the house, where nothing there can be taught a name",
    )
    group.add_argument(
        "--trust-port",
        type=port_number,
        help=f"where a new tablet fetches the certificate, plain http; default {DOOR_PORT}",
    )


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host


@dataclass(frozen=True)
class Lan:
    """What was asked for. `host` is what both servers listen on."""

    name: str
    address: str | None
    host: str
    port: int
    door_port: int

    @property
    def called(self) -> str:
        """What stands in addresses; one only, because a browser keeps things for each apart."""
        return _bracketed(self.address or self.name)

    @property
    def url(self) -> str:
        return f"https://{self.called}" + ("" if self.port == 443 else f":{self.port}")

    @property
    def door_url(self) -> str:
        return f"http://{self.called}" + ("" if self.door_port == 80 else f":{self.door_port}")

    def folder(self, data: Path) -> Path:
        return data / "certificate" / self.name

    def variables(self, data: Path) -> dict[str, str]:
        """For gallery_ops/settings.py and the door."""
        return {
            "GALLERY_OPS_LAN_URL": self.url,
            "GALLERY_OPS_TRUST_URL": self.door_url,
            "GALLERY_OPS_CERTIFICATE": str(self.folder(data)),
        }

    def hosts(self) -> list[str]:
        """Names that a browser may ask for."""
        return list(dict.fromkeys([self.name, self.called]))

    def web_words(self, data: Path) -> list[str]:
        """For gunicorn. It reads the file at each connection: a renewed one needs no restart."""
        file = str(self.folder(data) / "server.pem")
        return ["--certfile", file, "--keyfile", file]

    def door(self, python: Path) -> list[str]:
        command = [str(python), "-m", "gunicorn", "gallery_ops.certificate.door:application"]
        command += ["--chdir", str(HOUSE), "--bind", f"{_bracketed(self.host)}:{self.door_port}"]
        command += ["--worker-class", "gthread", "--workers", "1", "--threads", "4"]
        return [*command, "--no-control-socket", "--log-level", "warning"]


def wanted(options: argparse.Namespace, default_host: str) -> Lan | None:
    """None without --lan. Raises Trouble when the other words do not go with it."""
    if not options.lan:
        if options.lan_ip or options.trust_port:
            raise environment.Trouble("--lan-ip and --trust-port go with --lan NAME only.")
        return None
    if os.environ.get("GALLERY_OPS_HTTPS", "").strip().lower() == "on":
        raise environment.Trouble(
            "GALLERY_OPS_HTTPS=on says that a proxy in front speaks https, and --lan that this "
            "program does. Take out one of them."
        )
    found = Lan(
        options.lan,
        options.lan_ip,
        options.host or default_host,
        options.port or HTTPS_PORT,
        options.trust_port or DOOR_PORT,
    )
    if found.port == found.door_port:
        raise environment.Trouble(
            f"https and the page that hands out the certificate cannot share port {found.port}. "
            "Choose another with --trust-port."
        )
    return found


def certificate(
    python: Path, settings: dict[str, str], lan: Lan, *more: str, quiet: bool = False
) -> subprocess.CompletedProcess[str]:
    """Makes or renews it; what it says goes to the console, or is kept when `quiet`."""
    command = [str(python), "-m", "gallery_ops.certificate", lan.name]
    command += ["--data", settings["GALLERY_OPS_DATA"], *more]
    if lan.address:
        command += ["--lan-ip", lan.address]
    return subprocess.run(
        command, cwd=HOUSE, env=settings, stdin=subprocess.DEVNULL, capture_output=quiet, text=True
    )


def renew_daily(
    renew: Callable[[], subprocess.CompletedProcess[str]],
    say: Callable[[str, str], None],
    stop: threading.Event,
) -> None:
    """Until the gallery stops. What goes wrong is said each day; the day before still serves."""
    while not stop.wait(DAY_S):
        done = renew()
        for line in [*done.stdout.splitlines(), *done.stderr.splitlines()]:
            say("start", line)


# --- does it answer, and does the name lead here? ------------------------------------------------
class _Here(http.client.HTTPSConnection):
    """Asks this machine in the way a tablet asks that has found it under its name."""

    def __init__(self, lan: Lan, data: Path) -> None:
        trusts = ssl.create_default_context(cafile=str(lan.folder(data) / "authority.crt"))
        super().__init__(lan.name, lan.port, timeout=10, context=trusts)
        self.lan, self.trusts = lan, trusts

    def connect(self) -> None:
        host = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(self.lan.host, self.lan.host)  # noqa: S104
        plain = socket.create_connection((host, self.lan.port), timeout=self.timeout)
        self.sock = self.trusts.wrap_socket(plain, server_hostname=self.lan.name)


def answers(lan: Lan, data: Path) -> bool:
    """True when the first page comes by https, redirects followed, trusting our authority only."""
    path = "/"
    try:
        for _ in range(HOPS):
            connection = _Here(lan, data)
            connection.request("GET", path)
            answer = connection.getresponse()
            connection.close()
            if answer.status not in {301, 302, 303, 307, 308}:
                return answer.status == 200
            path = urlsplit(urljoin(path, answer.headers["Location"])).path
    except (OSError, http.client.HTTPException):
        return False
    return False


def name_words(lan: Lan, outward: str | None) -> list[str]:
    """Whether the name leads to this machine, and what to do where it does not.

    With an address of its own the gallery is asked for by that, and the name need not lead here.
    """
    here = outward or "this machine's address"
    try:
        found = {str(row[4][0]) for row in socket.getaddrinfo(lan.name, lan.port)}
    except OSError:
        found = set()
    if lan.address:
        return []
    if outward in found:
        return [f"The name {lan.name} leads to {outward}."]
    state = f"leads to {', '.join(sorted(found))}" if found else "is not known"
    words = [f"Asked from this machine, {lan.name} {state}; tablets must find it at {here}."]
    words.append(
        "  In the router, give this machine a fixed address and that name (its page may call it "
        "local DNS or host names)."
    )
    if lan.name.endswith(".local"):
        words.append(
            f"  Or let this machine announce it: call it {lan.name.removesuffix('.local')!r} "
            "(hostnamectl) and install avahi-daemon; older tablets do not listen to that."
        )
    if outward:
        words.append(f"  If neither can be: start with --lan {lan.name} --lan-ip {outward}.")
    return words
