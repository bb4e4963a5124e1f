"""The real program for one test: its own data folder, database and broker, real processes."""

from __future__ import annotations

import atexit
import fcntl
import hashlib
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from uuid import uuid4

import psycopg
import redis

HOUSE = Path(__file__).resolve().parents[2]
CELERY = ["-W", "ignore:You're running the worker with superuser", "-m", "celery", "--skip-checks"]
WORKER = ["worker", "-P", "threads", "-c", "2", "--without-gossip", "--without-mingle"]
DATABASE = "gallery.sqlite3"
REDIS_NUMBER = 7
WITHIN_S = 240.0
KEPT = "TESTS_KEPT_IN"
"""Names the folder of what is made once in a run of tests/run, for all its processes."""


@dataclass
class Program:
    """Commands in the gallery's own environment; what was started is ended with it."""

    folder: Path
    settings: dict[str, str]
    running: list[subprocess.Popen[bytes]] = field(default_factory=list)
    listening: dict[str, subprocess.Popen[bytes]] = field(default_factory=dict)

    @property
    def data(self) -> Path:
        """The data folder."""
        return self.folder / "data"

    def environment(self, clock: str, **more: str) -> dict[str, str]:
        """What a child sees, its clock beginning at that moment."""
        return {**self.settings, "GALLERY_OPS_CLOCK": clock, **more}

    def run(self, *words: str, clock: str) -> str:
        """A command that ends; its output. A failure is told with all it said."""
        done = subprocess.run(
            [sys.executable, *words],
            cwd=HOUSE,
            env=self.environment(clock),
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=120,
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def ask(self, deed: str, *, clock: str) -> Any:
        """A deed of ``tests.faults.gallery`` and what it tells, by one process for each clock."""
        if clock not in self.listening:
            words = ["-m", "tests.faults.gallery", "listen"]
            pipe = subprocess.PIPE
            self.listening[clock] = self.start(*words, clock=clock, stdin=pipe, stdout=pipe)
        child = self.listening[clock]
        assert child.stdin is not None
        assert child.stdout is not None
        child.stdin.write(f"{deed}\n".encode())
        child.stdin.flush()
        told = child.stdout.readline()
        assert told, self.said()
        return json.loads(told)

    def state(self, *, clock: str) -> dict[str, Any]:
        """What is stored, and what should be."""
        found: dict[str, Any] = self.ask("state", clock=clock)
        return found

    def start(
        self, *words: str, clock: str, stdin: int = subprocess.DEVNULL, stdout: int = 0, **more: str
    ) -> subprocess.Popen[bytes]:
        """A process that stays, in a group of its own, its words in a file of the folder."""
        log = self.folder / f"{len(self.running)}.log"
        with log.open("wb") as out:
            child = subprocess.Popen(
                [sys.executable, *words],
                cwd=HOUSE,
                env=self.environment(clock, **more),
                stdin=stdin,
                stdout=stdout or out,
                stderr=out,
                start_new_session=True,
            )
        self.running.append(child)
        return child

    def worker(
        self, *, clock: str, app: str = "gallery_ops", **more: str
    ) -> subprocess.Popen[bytes]:
        """A real worker, as a start of the program starts it."""
        return self.start(*CELERY, "-A", app, *WORKER, clock=clock, **more)

    def beat(self, *, clock: str) -> subprocess.Popen[bytes]:
        """A real beat."""
        words = ["-A", "gallery_ops", "beat", "--pidfile=", "--schedule", str(self.folder / "beat")]
        return self.start(*CELERY, *words, clock=clock)

    def empty_broker(self) -> None:
        """Every message is lost: Redis is flushed, or the folder of the queue is deleted."""
        if "REDIS_URL" in self.settings:
            with redis.Redis.from_url(self.settings["REDIS_URL"]) as broker:
                broker.flushdb()
            return
        for file in (self.data / "queue").iterdir():
            file.unlink()
        (self.data / "queue").rmdir()

    def messages(self) -> int:
        """How many messages wait."""
        if "REDIS_URL" in self.settings:
            with redis.Redis.from_url(self.settings["REDIS_URL"]) as broker:
                return int(str(broker.llen("celery")))
        return len(list((self.data / "queue").iterdir()))

    def said(self) -> str:
        """The end of what all its processes wrote."""
        logs = sorted(self.folder.glob("*.log"))
        return "\n".join(f"{log.name}: {log.read_text(errors='replace')[-1500:]}" for log in logs)


def kill(child: subprocess.Popen[bytes]) -> None:
    """kill -9, with all that it started."""
    os.killpg(child.pid, signal.SIGKILL)
    child.wait(10)


def until(true: Callable[[], bool], program: Program, what: str) -> None:
    """Wait for something; what the processes said is told when it does not come."""
    end = time.monotonic() + WITHIN_S
    while not true():
        assert time.monotonic() < end, f"{what} did not come.\n{program.said()}"
        time.sleep(0.6)


@contextmanager
def program(folder: Path) -> Iterator[Program]:
    """A program with an empty but migrated database, on the servers that the tests run on."""
    ours = ("GALLERY_OPS_", "DATABASE_URL", "REDIS_URL", "DJANGO_SETTINGS_MODULE")
    settings = {key: value for key, value in os.environ.items() if not key.startswith(ours)}
    settings["GALLERY_OPS_DATA"] = str(folder / "data")
    settings["DJANGO_SETTINGS_MODULE"] = "gallery_ops.settings"
    if "REDIS_URL" in os.environ:
        address = urlsplit(os.environ["REDIS_URL"])
        settings["REDIS_URL"] = address._replace(path=f"/{REDIS_NUMBER}").geturl()
    with migrated(settings):
        made = Program(folder, settings)
        if "REDIS_URL" in settings:
            made.empty_broker()
        try:
            yield made
        finally:
            for child in made.running:
                if child.poll() is None:
                    kill(child)
                for pipe in filter(None, (child.stdin, child.stdout)):
                    pipe.close()


@contextmanager
def migrated(settings: dict[str, str]) -> Iterator[None]:
    """A database as after every step: a copy of one that was made once for this run.

    On PostgreSQL a database of its own by template; on SQLite the file in the data folder.
    """
    server, data = os.environ.get("DATABASE_URL", ""), Path(settings["GALLERY_OPS_DATA"])
    data.mkdir(parents=True, exist_ok=True)
    if not server.startswith("postgres"):
        shutil.copyfile(_made_once(settings), data / DATABASE)
        yield
        return
    name = f"faults_{uuid4().hex}"
    template = _made_once(settings)
    settings["DATABASE_URL"] = urlsplit(server)._replace(path=f"/{name}").geturl()
    with psycopg.connect(server, autocommit=True) as admin:
        admin.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template}"')
    try:
        yield
    finally:
        with psycopg.connect(server, autocommit=True) as admin:
            admin.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def _kept_in() -> Path:
    """A folder for the whole run; without tests/run one for this process."""
    given = os.environ.get(KEPT)
    if not given:
        given = os.environ[KEPT] = tempfile.mkdtemp(prefix="gallery-ops-kept-")
        atexit.register(shutil.rmtree, given, ignore_errors=True)
    return Path(given)


def _made_once(settings: dict[str, str]) -> str:
    """File or name of an empty gallery's database, made by whichever process comes first."""
    server = os.environ.get("DATABASE_URL", "")
    folder = _kept_in() / hashlib.sha256(server.encode()).hexdigest()[:12]
    folder.mkdir(exist_ok=True)
    told = folder / "where"
    with (folder / "lock").open("w") as alone:
        fcntl.flock(alone, fcntl.LOCK_EX)
        if not told.exists():
            told.write_text(_make(settings, server, folder))
    return told.read_text()


def _make(settings: dict[str, str], server: str, folder: Path) -> str:
    where, own = str(folder / DATABASE), {**settings, "GALLERY_OPS_DATA": str(folder)}
    if server.startswith("postgres"):
        where = f"migrated_{uuid4().hex}"
        own["DATABASE_URL"] = urlsplit(server)._replace(path=f"/{where}").geturl()
        with psycopg.connect(server, autocommit=True) as admin:
            admin.execute(f'CREATE DATABASE "{where}"')
    words = [sys.executable, "-m", "tests.faults.tables"]
    done = subprocess.run(words, cwd=HOUSE, env=own, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stdout + done.stderr
    return where
