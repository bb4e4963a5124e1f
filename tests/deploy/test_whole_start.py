"""Does the whole program come up, survive a killed worker, and leave nothing when it stops?

Runs deploy/bring_up.py with the packages of the tests, so that nothing is installed here. Where
DATABASE_URL and REDIS_URL are set it runs on those, in a database of its own.
"""

import os
import re
import secrets
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import psycopg
import pytest

from tests.deploy.own_https import OwnHttps, check, free_port

pytestmark = pytest.mark.start

HOUSE = Path(__file__).resolve().parents[2]
WITHIN_S = 240.0
"""How long something may take that must come; beside all other tests a start takes minutes."""
WITH_THESE_PACKAGES = f"""
import pathlib, sys
sys.path.insert(0, {str(HOUSE / "deploy")!r})
import environment
environment.make = lambda *_: pathlib.Path(sys.executable)
import bring_up
sys.exit(bring_up.main(sys.argv[1:]))
"""


class Gallery:
    """A started program, its output and its processes."""

    def __init__(self, environment: dict[str, str], log: Path, *words: str) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}/"
        self.log, self.began = log, time.monotonic()
        with log.open("wb") as out:
            self.process = subprocess.Popen(
                [sys.executable, "-c", WITH_THESE_PACKAGES, "--port", str(self.port), *words],
                env=environment,
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=out,
                start_new_session=True,
            )

    def text(self) -> str:
        return self.log.read_text()

    def wait_for(self, words: str, within_s: float = WITHIN_S) -> float:
        """Seconds since the start at which `words` were printed."""
        end = time.monotonic() + within_s
        while time.monotonic() < end and self.process.poll() is None:
            if words in self.text():
                return time.monotonic() - self.began
            time.sleep(0.05)
        raise AssertionError(f"{words!r} not seen:\n{self.text()}")

    def processes(self, word: str = "") -> list[int]:
        """Living descendants whose command line holds `word`."""
        parents: dict[int, int] = {}
        lines: dict[int, str] = {}
        for folder in Path("/proc").glob("[0-9]*"):
            try:
                after_name = (folder / "stat").read_text().rsplit(")", 1)[1].split()
                lines[int(folder.name)] = (folder / "cmdline").read_text().replace("\0", " ")
            except OSError:
                continue
            if after_name[0] != "Z":
                parents[int(folder.name)] = int(after_name[1])

        def is_ours(pid: int) -> bool:
            while pid in parents and pid != self.process.pid:
                pid = parents[pid]
            return pid == self.process.pid

        return [
            pid
            for pid in parents
            if pid != self.process.pid and is_ours(pid) and word in lines[pid]
        ]

    def stop(self) -> float:
        """Seconds from TERM to the end."""
        began = time.monotonic()
        self.process.terminate()
        self.process.wait(30)
        return time.monotonic() - began


def is_alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


def heartbeats(address: str) -> dict[str, str]:
    """When each kind was last seen, read past the program."""
    question = "SELECT kind, seen_at FROM kernel_heartbeat"
    if address.startswith("postgresql:"):
        with psycopg.connect(address) as server:
            return {kind: str(seen) for kind, seen in server.execute(question).fetchall()}
    with closing(sqlite3.connect(f"{address}?mode=ro", uri=True)) as file:
        return dict(file.execute(question).fetchall())


@pytest.fixture
def address(plain_environment: dict[str, str], tmp_path: Path) -> str:
    """Where the started program keeps its rows; an empty database on the server of this run."""
    server = os.environ.get("DATABASE_URL", "")
    if not server:
        return f"file:{tmp_path}/elsewhere/gallery.sqlite3"
    name = f"start_{secrets.token_hex(4)}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")  # type: ignore[arg-type]
    plain_environment["DATABASE_URL"] = f"{server.rsplit('/', 1)[0]}/{name}"
    plain_environment["REDIS_URL"] = os.environ["REDIS_URL"]
    return plain_environment["DATABASE_URL"]


@pytest.fixture
def start(
    plain_environment: dict[str, str],
    address: str,
    tmp_path: Path,
) -> Iterator[Callable[..., Gallery]]:
    made: list[Gallery] = []

    def begin(*words: str) -> Gallery:
        made.append(Gallery(plain_environment, tmp_path / f"start{len(made)}.log", *words))
        return made[-1]

    yield begin
    for gallery in made:
        left = gallery.processes()
        if gallery.process.poll() is None:
            gallery.process.kill()
            gallery.process.wait()
        for pid in filter(is_alive, left):
            os.kill(pid, signal.SIGKILL)


def wait_until(true: Callable[[], bool], within_s: float) -> bool:
    end = time.monotonic() + within_s
    while not true() and time.monotonic() < end:
        time.sleep(0.1)
    return true()


def test_an_empty_gallery_comes_up_heals_and_stops(
    start: Callable[..., Gallery], address: str, plain_environment: dict[str, str], tmp_path: Path
) -> None:
    elsewhere = tmp_path / "elsewhere"
    gallery = start("--empty", "--data", str(elsewhere))
    gallery.wait_for(f"Ready at {gallery.address}\n")
    with urllib.request.urlopen(gallery.address, timeout=10) as page:  # noqa: S310 - loopback
        assert page.status == 200
        assert "Gallery Ops" in page.read().decode()
    assert len(gallery.processes("gunicorn")) == 3
    assert len(gallery.processes("celery")) == 2

    assert wait_until(lambda: "worker" in heartbeats(address), WITHIN_S), gallery.text()
    (worker,) = [pid for pid in gallery.processes("celery") if " worker " in cmdline(pid)]
    os.kill(worker, signal.SIGKILL)
    gallery.wait_for("worker stopped (signal 9); starting it again.")
    before = heartbeats(address)["worker"]
    assert wait_until(lambda: heartbeats(address)["worker"] > before, WITHIN_S), gallery.text()

    everything = gallery.processes()
    assert gallery.stop() < 10
    assert gallery.process.returncode == 0
    assert not [pid for pid in everything if is_alive(pid)]
    assert "Traceback" not in gallery.text()

    assert (elsewhere / "gallery.sqlite3").exists() is address.startswith("file:")
    assert (elsewhere / "secret_key").stat().st_mode & 0o777 == 0o600
    assert not (tmp_path / "data").exists()

    plain_environment["GALLERY_OPS_DATA"] = str(elsewhere)
    house = OwnHttps("gallery.lan", 0, free_port(), elsewhere)
    inside = ("--lan", house.name, "--trust-port", str(house.door_port), "--host", "127.0.0.1")
    again = start("--empty", *inside)
    house.port = again.port
    took_s = again.wait_for(f"Ready at https://gallery.lan:{again.port}/\n")
    assert took_s < max(5, 10 * one_load_s(plain_environment)), again.text()
    assert not re.search("Bringing the database|Preparing pictures", again.text())
    check(house)
    assert again.stop() < 10
    assert "Traceback" not in again.text()


def one_load_s(environment: dict[str, str]) -> float:
    """How long this machine, busy as it is now, takes to load the program once [s]."""
    began = time.monotonic()
    command = [sys.executable, str(HOUSE / "manage.py"), "check"]
    subprocess.run(command, env=environment, check=True, stdout=subprocess.DEVNULL)
    return time.monotonic() - began


def cmdline(pid: int) -> str:
    return Path(f"/proc/{pid}/cmdline").read_text().replace("\0", " ")
