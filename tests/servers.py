"""Which PostgreSQL and Redis do the tests use? Private ones, made for a run and thrown away.

    python tests/servers.py COMMAND ...     # runs COMMAND with DATABASE_URL and REDIS_URL set

Needs Debian's postgresql and redis-server. PostgreSQL refuses to run as root; root runs it as
another user. Ports are free ones, nothing is durable, every failure says what to do.
"""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

START_WITHIN_S = 20.0
MEMORY = Path("/dev/shm")  # noqa: S108 - mkdtemp makes a private folder there
ENOUGH_MEMORY_BYTES = 512 * 1024**2  # a container often gives 64 MB: too small
FAST = ["fsync=off", "synchronous_commit=off", "full_page_writes=off", "max_connections=60"]
FAST += ["wal_level=minimal", "max_wal_senders=0"]
FAST += ["autovacuum=off", "max_wal_size=4GB", "checkpoint_timeout=1h"]  # gone before it pays
FAST += ["jit=off"]  # compiling a question takes longer than answering one of a test


class NoServer(Exception):
    """A sentence: which program is missing or did not start, and what to do."""


def postgres_program(name: str) -> Path | None:
    """The newest installed `initdb`, `postgres` or `pg_isready`."""
    found = sorted(
        Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), key=lambda path: path.parts[4].zfill(4)
    )
    other = shutil.which(name)
    return found[-1] if found else Path(other) if other else None


def _need(program: Path | str | None, name: str, package: str) -> str:
    if program is None:
        raise NoServer(f"{name} not found. Install it: apt-get install -y {package}")
    return str(program)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _other_user() -> dict[str, Any]:
    """Arguments that make a child run as someone other than root."""
    if os.getuid():
        return {}
    for name in ("postgres", "nobody"):
        try:
            user = pwd.getpwnam(name)
        except KeyError:
            continue
        return {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}
    raise NoServer("Running as root and found no other user to run PostgreSQL as.")


def _wait(
    process: subprocess.Popen[bytes], port: int, log: Path, name: str, ask: list[str]
) -> None:
    end = time.monotonic() + START_WITHIN_S
    while time.monotonic() < end:
        if process.poll() is not None:
            raise NoServer(f"{name} stopped at once. Its log:\n{log.read_text()[-800:]}")
        try:
            socket.create_connection(("127.0.0.1", port), 0.2).close()
            if not ask or subprocess.run(ask, cwd="/").returncode == 0:
                return
        except OSError:
            pass
        time.sleep(0.02)
    raise NoServer(f"{name} did not answer within {START_WITHIN_S:.0f} s. Its log: {log}")


def _start_postgres(base: Path, running: list[subprocess.Popen[bytes]]) -> str:
    programs = {n: str(postgres_program(n)) for n in ("initdb", "postgres", "pg_isready")}
    who, data, port = _other_user(), base / "postgres", free_port()
    settings = {**os.environ, "LC_ALL": "C.UTF-8"}
    if who:
        base.chmod(0o755)
        data.mkdir(0o700)
        os.chown(data, who["user"], who["group"])
    made = subprocess.run(
        [
            *(programs["initdb"], "-D", str(data), "-U", "app", "-A", "trust"),
            *("-E", "UTF8", "--locale=C.UTF-8", "--no-sync"),
        ],
        capture_output=True,
        text=True,
        cwd="/",  # the other user may not read ours
        env=settings,
        **who,
    )
    if made.returncode:
        raise NoServer("initdb failed:\n" + made.stderr[-800:])
    options = ["listen_addresses=127.0.0.1", "unix_socket_directories=", *FAST]
    command = [programs["postgres"], "-D", str(data), "-p", str(port)]
    command += [word for option in options for word in ("-c", option)]
    log = base / "postgres.log"
    with log.open("wb") as out:
        server = subprocess.Popen(
            command, stdout=out, stderr=out, cwd="/", env=settings, start_new_session=True, **who
        )
    running.append(server)
    ask = [programs["pg_isready"], "-q", "-h", "127.0.0.1", "-p", str(port)]
    _wait(server, port, log, "PostgreSQL", ask)
    return f"postgresql://app@127.0.0.1:{port}/postgres"


def _start_redis(base: Path, running: list[subprocess.Popen[bytes]]) -> str:
    port, log = free_port(), base / "redis.log"
    command = ["redis-server", "--port", str(port), "--bind", "127.0.0.1", "--save", ""]
    command += ["--appendonly", "no", "--dir", str(base)]
    with log.open("wb") as out:
        server = subprocess.Popen(command, stdout=out, stderr=out, start_new_session=True)
    running.append(server)
    _wait(server, port, log, "Redis", [])
    return f"redis://127.0.0.1:{port}/0"


@contextmanager
def private_servers() -> Iterator[dict[str, str]]:
    """Both servers for as long as the block runs; gives DATABASE_URL and REDIS_URL."""
    # Look for every program before starting the first: else one would be left running.
    for name in ("initdb", "postgres", "pg_isready"):
        _need(postgres_program(name), name, "postgresql")
    _need(shutil.which("redis-server"), "redis-server", "redis-server")
    roomy = (
        MEMORY.is_dir()
        and os.access(MEMORY, os.W_OK)
        and shutil.disk_usage(MEMORY).free > ENOUGH_MEMORY_BYTES
    )
    base = Path(tempfile.mkdtemp(prefix="gallery-ops-servers-", dir=MEMORY if roomy else None))
    running: list[subprocess.Popen[bytes]] = []
    try:
        yield {
            "DATABASE_URL": _start_postgres(base, running),
            "REDIS_URL": _start_redis(base, running),
        }
    finally:
        for server in running:
            server.send_signal(signal.SIGINT)
        for server in running:
            try:
                server.wait(10)
            except subprocess.TimeoutExpired:
                server.kill()
        shutil.rmtree(base, ignore_errors=True)


def main(command: list[str]) -> int:
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    try:
        with private_servers() as addresses:
            return subprocess.call(command or ["env"], env={**os.environ, **addresses})
    except NoServer as trouble:
        print(f"tests/servers.py: {trouble}", file=sys.stderr)
        return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
