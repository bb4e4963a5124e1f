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
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import IO, NoReturn

HERE = Path(__file__).resolve().parent
HOUSE = HERE.parent
sys.path.insert(0, str(HERE))

import environment  # noqa: E402 - found by the path set above
import lan  # noqa: E402
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
    parser.add_argument("--port", type=port_number, help="default 8000; with --lan 8443")
    parser.add_argument("--host", help="default 127.0.0.1: this machine only; with --lan 0.0.0.0")
    parser.add_argument("--data", type=Path, help="folder for everything written; default var/")
    parser.add_argument("--empty", action="store_true", help="no demo gallery in a new database")
    lan.add_options(parser, port_number)
    return parser.parse_args(argv)


@dataclass(frozen=True)
class Plan:
    """Where the web server listens, in which folder it writes, and how the house reaches it."""

    folder: Path
    host: str
    port: int
    lan: lan.Lan | None

    @property
    def address(self) -> str:
        """The address of the first page: its https name, or as seen from this machine."""
        return f"{self.lan.url}/" if self.lan else page_address(self.host, self.port)


def make_plan(options: argparse.Namespace) -> Plan:
    inside = lan.wanted(options, "0.0.0.0")  # noqa: S104 - every tablet of the house, as asked for
    if inside:
        return Plan(data_folder(options.data), inside.host, inside.port, inside)
    return Plan(data_folder(options.data), options.host or "127.0.0.1", options.port or 8000, None)


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


def try_port(host: str, port: int, option: str = "--port") -> None:
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
        raise environment.Trouble(port_sentence(host, port, option, trouble)) from None


def port_sentence(host: str, port: int, option: str, trouble: OSError) -> str:
    if trouble.errno == errno.EADDRINUSE:
        other = port + 1 if port < 65535 else port - 1
        return (
            f"Port {port} on {host} is taken by another program. Stop that program, or choose "
            f"another port: deploy/start {option} {other}"
        )
    if trouble.errno == errno.EACCES:
        return (
            f"Port {port} is kept for the system's own programs. Choose one above 1023: "
            f"deploy/start {option} 8000"
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
def child_environment(plan: Plan) -> dict[str, str]:
    settings = {**os.environ, "GALLERY_OPS_DATA": str(plan.folder), "PYTHONUNBUFFERED": "1"}
    settings["DJANGO_SETTINGS_MODULE"] = "gallery_ops.settings"
    names = [n for n in os.environ.get("GALLERY_OPS_HOSTS", "").split(",") if n.strip()]
    served = plan.lan.hosts() if plan.lan else names_served(plan.host)
    settings["GALLERY_OPS_HOSTS"] = ",".join(dict.fromkeys([*names, *served]))
    return {**settings, **(plan.lan.variables(plan.folder) if plan.lan else {})}


def manage(python: Path, settings: dict[str, str], *words: str) -> int:
    return subprocess.run(
        [str(python), str(HOUSE / "manage.py"), *words],
        env=settings,
        stdin=subprocess.DEVNULL,
        cwd=HOUSE,
    ).returncode


def commands(python: Path, plan: Plan) -> dict[str, list[str]]:
    host = f"[{plan.host}]" if ":" in plan.host else plan.host
    bind = f"{host}:{plan.port}"
    run = [str(python), "-m"]
    web = [*run, "gunicorn", "gallery_ops.wsgi:application", "--chdir", str(HOUSE)]
    web += ["--bind", bind, "--worker-class", "gthread", "--workers", "2", "--threads", "4"]
    web += ["--preload"]  # loaded once, and the two workers are its children
    web += ["--graceful-timeout", "5", "--no-control-socket", "--log-level", "warning"]
    web += plan.lan.web_words(plan.folder) if plan.lan else []
    celery = [*run, "celery", "--quiet", "--workdir", str(HOUSE), "-A", "gallery_ops.celery"]
    celery += ["--skip-checks"]  # get_ready asks for each version; they would load every page
    # A gallery's own machine may well run it as root; messages carry no pickled code here.
    quiet = [str(python), "-W", "ignore:You're running the worker with superuser", "-m"]
    worker = [*quiet, *celery[2:], "worker", "-P", "threads", "-c", "2", "--loglevel", "WARNING"]
    worker += ["--without-gossip", "--without-mingle", "--without-heartbeat"]
    beat = [*celery, "beat", "--loglevel", "WARNING", "--pidfile="]
    beat += ["--schedule", str(plan.folder / "beat_schedule")]
    door = {"door": plan.lan.door(python)} if plan.lan else {}
    return {"web": web, "worker": worker, "beat": beat, **door}


def answers(plan: Plan) -> bool:
    """True when the first page comes, redirects followed. Slow to ask again after a bad answer."""
    if plan.lan:
        return lan.answers(plan.lan, plan.folder)
    address = plan.address
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


def announce(python: Path, settings: dict[str, str], plan: Plan) -> None:
    say(f"Ready at {plan.address}")
    if plan.lan:
        for line in lan.name_words(plan.lan, outward_address()):
            say(line)
        lan.certificate(python, settings, plan.lan, "--show", f"{plan.lan.door_url}/")
    elif plan.host in EVERYWHERE and (outward := outward_address()):
        say(f"Other devices in the network: http://{outward}:{plan.port}/")
        say(
            "Tablets need https to walk a round without the network: deploy/start --lan gallery.lan"
        )
    manage(python, settings, "show_sign_ins")
    say("Ctrl-C stops everything.")


def look_after(
    python: Path, settings: dict[str, str], plan: Plan
) -> Callable[[threading.Event], None]:
    """What goes on beside the children: say when the pages answer, then renew the certificate."""

    def when_started(stop: threading.Event) -> None:
        end = time.monotonic() + ANSWER_WITHIN_S
        while time.monotonic() < end and not stop.is_set():
            if answers(plan):
                announce(python, settings, plan)
                break
            stop.wait(0.1)
        else:
            if not stop.is_set():
                within = f"{ANSWER_WITHIN_S:.0f} s"
                say(f"The page at {plan.address} did not answer within {within}; see above.")
        if inside := plan.lan:
            lan.renew_daily(
                lambda: lan.certificate(python, settings, inside, quiet=True), supervise.say, stop
            )

    return when_started


def prepare(python: Path, settings: dict[str, str], plan: Plan, *words: str) -> int:
    """Certificate, tables, files, a gallery to look at; gives the exit code of what failed."""
    if plan.lan and (code := lan.certificate(python, settings, plan.lan).returncode):
        return code
    return manage(python, settings, "get_ready", *words)


def main(argv: list[str]) -> int:
    options = read_options(argv)
    try:
        plan = make_plan(options)
        held = lock(plan.folder)
        try_port(plan.host, plan.port)
        if plan.lan:
            try_port(plan.host, plan.lan.door_port, "--trust-port")
        python = environment.make(HOUSE / ".venv", [HOUSE / "requirements.txt"], say)
    except environment.Trouble as trouble:
        print(f"Gallery Ops cannot start: {trouble}", file=sys.stderr)
        return 1
    settings = child_environment(plan)
    words = ["--empty"] if options.empty else []
    if code := prepare(python, settings, plan, *words):
        return code
    try:
        return supervise.run(commands(python, plan), settings, look_after(python, settings, plan))
    finally:
        held.close()


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        print("\nStopped before the gallery was up.", file=sys.stderr)
        sys.exit(130)
