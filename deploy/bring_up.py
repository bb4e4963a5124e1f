"""What must happen between a fresh clone and a gallery that answers? Standard library only.

Looks at the port, the data folder and Python first, so that trouble shows before the long part;
installs, prepares the database, starts web, worker and beat, and stays as their parent.
"""

from __future__ import annotations

import argparse
import errno
import fcntl
import os
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import IO, NoReturn

HERE = Path(__file__).resolve().parent
HOUSE = HERE.parent
sys.path.insert(0, str(HERE))

import environment  # noqa: E402 - found by the path set above
import supervise  # noqa: E402

ANSWER_WITHIN_S = 60.0
LOOPBACK = {"127.0.0.1", "localhost", "::1"}
EVERYWHERE = {"0.0.0.0", "::"}  # noqa: S104 - compared, not bound


def say(line: str) -> None:
    print(line, flush=True)


class Options(argparse.ArgumentParser):
    """Refuses with a sentence and where to read more."""

    def error(self, message: str) -> NoReturn:
        print(
            f"deploy/start: {message}. Run deploy/start --help to see what is allowed.",
            file=sys.stderr,
        )
        raise SystemExit(2)


def port_number(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"must be a number from 1 to 65535, not {text!r}")
    return int(text)


def read_options(argv: list[str]) -> argparse.Namespace:
    parser = Options(
        prog="deploy/start",
        description="Installs what is missing, then runs the gallery until Ctrl-C.",
        epilog="DATABASE_URL and REDIS_URL, when set, are used instead of SQLite and the file "
        "queue; deploy/env.example lists every variable.",
        allow_abbrev=False,
    )
    parser.add_argument("--port", type=port_number, default=8000, help="default 8000")
    parser.add_argument("--host", default="127.0.0.1", help="default 127.0.0.1: this machine only")
    parser.add_argument("--data", type=Path, help="folder for everything written; default var/")
    parser.add_argument("--empty", action="store_true", help="no demo gallery in a new database")
    return parser.parse_args(argv)


# --- look before anything long -----------------------------------------------------------------
def data_folder(given: Path | None) -> Path:
    folder = given or Path(os.environ.get("GALLERY_OPS_DATA") or HOUSE / "var")
    folder = folder.expanduser().resolve()
    try:
        folder.mkdir(mode=0o750, parents=True, exist_ok=True)
        trial = folder / f".may_write.{os.getpid()}"
        trial.touch()
        trial.unlink()
    except OSError as trouble:
        raise environment.Trouble(
            f"The data folder {folder} may not be written ({trouble.strerror}). Choose another "
            "with --data DIR, or let its owner give this user the right to write there."
        ) from None
    return folder


def lock(folder: Path) -> IO[str]:
    """Hold the folder for this start: two beats on one database would do everything twice."""
    file = (folder / "start.lock").open("a+", encoding="ascii")
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        file.seek(0)
        holder = file.read().strip() or "unknown"
        raise environment.Trouble(
            f"Gallery Ops already runs on the data folder {folder} (process {holder}). "
            "Stop that one first, or give this one its own folder with --data DIR."
        ) from None
    file.truncate(0)
    file.write(str(os.getpid()))
    file.flush()
    return file


def try_port(host: str, port: int) -> None:
    try:
        family, kind, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        with socket.socket(family, kind) as trial:
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            trial.bind(address)
            trial.listen(1)
    except socket.gaierror:
        raise environment.Trouble(
            f"The host {host!r} is not known here. Use 127.0.0.1 for this machine only, or "
            "0.0.0.0 for every device in the network."
        ) from None
    except OSError as trouble:
        raise environment.Trouble(port_sentence(host, port, trouble)) from None


def port_sentence(host: str, port: int, trouble: OSError) -> str:
    if trouble.errno == errno.EADDRINUSE:
        other = port + 1 if port < 65535 else port - 1
        return (
            f"Port {port} on {host} is taken by another program. Stop that program, or choose "
            f"another port: deploy/start --port {other}"
        )
    if trouble.errno == errno.EACCES:
        return (
            f"Port {port} is kept for the system's own programs. Choose one above 1023: "
            "deploy/start --port 8000"
        )
    if trouble.errno == errno.EADDRNOTAVAIL:
        return (
            f"This machine has no address {host}. Use 127.0.0.1 for this machine only, or "
            "0.0.0.0 for every device in the network."
        )
    return f"Cannot listen on {host}, port {port}: {trouble.strerror}."


# --- names -------------------------------------------------------------------------------------
def outward_address() -> str | None:
    """The address by which other devices reach this machine, if it has one. Sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # RFC 5737: an address for documentation
        except OSError:
            return None
        return str(probe.getsockname()[0])


def names_served(host: str) -> list[str]:
    """Host names that a browser may ask for, beyond loopback."""
    if host in LOOPBACK:
        return []
    if host in EVERYWHERE:
        found = [outward_address(), socket.gethostname(), socket.getfqdn()]
        return sorted({name for name in found if name and name not in LOOPBACK})
    return [f"[{host}]" if ":" in host else host]


def page_address(host: str, port: int) -> str:
    """The address of the first page, as seen from this machine."""
    shown = "127.0.0.1" if host in EVERYWHERE else host
    return f"http://[{shown}]:{port}/" if ":" in shown else f"http://{shown}:{port}/"


# --- start -------------------------------------------------------------------------------------
def child_environment(folder: Path, host: str) -> dict[str, str]:
    settings = {**os.environ, "GALLERY_OPS_DATA": str(folder), "PYTHONUNBUFFERED": "1"}
    settings["DJANGO_SETTINGS_MODULE"] = "gallery_ops.settings"
    names = [n for n in os.environ.get("GALLERY_OPS_HOSTS", "").split(",") if n.strip()]
    settings["GALLERY_OPS_HOSTS"] = ",".join(dict.fromkeys([*names, *names_served(host)]))
    return settings


def manage(python: Path, settings: dict[str, str], *words: str) -> int:
    return subprocess.run(
        [str(python), str(HOUSE / "manage.py"), *words],
        env=settings,
        stdin=subprocess.DEVNULL,
        cwd=HOUSE,
    ).returncode


def commands(python: Path, folder: Path, host: str, port: int) -> dict[str, list[str]]:
    bind = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
    run = [str(python), "-m"]
    web = [*run, "gunicorn", "gallery_ops.wsgi:application", "--chdir", str(HOUSE)]
    web += ["--bind", bind, "--worker-class", "gthread", "--workers", "2", "--threads", "4"]
    web += ["--graceful-timeout", "5", "--no-control-socket", "--log-level", "warning"]
    celery = [*run, "celery", "--quiet", "--workdir", str(HOUSE), "-A", "gallery_ops.celery"]
    # A gallery's own machine may well run it as root; messages carry no pickled code here.
    quiet = [str(python), "-W", "ignore:You're running the worker with superuser", "-m"]
    worker = [*quiet, *celery[2:], "worker", "-P", "threads", "-c", "2", "--loglevel", "WARNING"]
    worker += ["--without-gossip", "--without-mingle", "--without-heartbeat"]
    beat = [*celery, "beat", "--loglevel", "WARNING", "--pidfile="]
    beat += ["--schedule", str(folder / "beat_schedule")]
    return {"web": web, "worker": worker, "beat": beat}


def answers(address: str) -> bool:
    """True when the first page comes, redirects followed. Slow to ask again after a bad answer."""
    request = urllib.request.Request(address, headers={"X-Forwarded-Proto": "https"})
    if os.environ.get("GALLERY_OPS_HTTPS", "").lower() != "on":
        request = urllib.request.Request(address)
    try:
        opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        with opener.open(request, timeout=10) as answer:
            return bool(answer.status == 200)
    except urllib.error.HTTPError:
        time.sleep(1)
        return False
    except OSError:
        return False


def announce(python: Path, settings: dict[str, str], options: argparse.Namespace) -> None:
    address = page_address(options.host, options.port)
    say(f"Ready at {address}")
    if options.host in EVERYWHERE and (outward := outward_address()):
        say(f"Other devices in the network: http://{outward}:{options.port}/")
    manage(python, settings, "show_sign_ins")
    say("Ctrl-C stops everything.")


def main(argv: list[str]) -> int:
    options = read_options(argv)
    try:
        folder = data_folder(options.data)
        held = lock(folder)
        try_port(options.host, options.port)
        python = environment.make(HOUSE / ".venv", [HOUSE / "requirements.txt"], say)
    except environment.Trouble as trouble:
        print(f"Gallery Ops cannot start: {trouble}", file=sys.stderr)
        return 1
    settings = child_environment(folder, options.host)
    words = ["--empty"] if options.empty else []
    if code := manage(python, settings, "get_ready", *words):
        return code

    def when_started(stop: threading.Event) -> None:
        end = time.monotonic() + ANSWER_WITHIN_S
        address = page_address(options.host, options.port)
        while time.monotonic() < end and not stop.is_set():
            if answers(address):
                announce(python, settings, options)
                return
            stop.wait(0.1)
        if not stop.is_set():
            say(f"The page at {address} did not answer within {ANSWER_WITHIN_S:.0f} s; see above.")

    try:
        return supervise.run(
            commands(python, folder, options.host, options.port), settings, when_started
        )
    finally:
        held.close()


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        print("\nStopped before the gallery was up.", file=sys.stderr)
        sys.exit(130)
