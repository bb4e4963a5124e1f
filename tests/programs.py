"""Which programs do the tests need, and how are they got? Standard library only."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable

import servers  # found by the path that tests/all_groups.py sets

SERVERS = ("postgresql", "redis-server")
BROWSERS = ("chromium", "chromium-browser", "google-chrome")

# What a group needs: the Debian package and how to see that its programs are there.
PACKAGES: dict[str, Callable[[], bool]] = {
    "postgresql": lambda: servers.postgres_program("initdb") is not None,
    "redis-server": lambda: shutil.which("redis-server") is not None,
    "nodejs": lambda: shutil.which("node") is not None,
    "chromium": lambda: any(shutil.which(name) for name in BROWSERS),
    "libnss3-tools": lambda: shutil.which("certutil") is not None,
}
QUICKER = "chromium-headless-shell"  # got beside the others where apt knows it; none needs it


def missing(packages: tuple[str, ...]) -> list[str]:
    return [name for name in packages if not PACKAGES[name]()]


def get_packages(say: Callable[[str], None]) -> None:
    """As root, install what is missing with apt; otherwise the groups will say what they lack."""
    wanted = missing(tuple(PACKAGES))
    if not wanted or os.getuid() != 0 or not shutil.which("apt-get"):
        return
    say(f"Installing {' '.join(wanted)} with apt-get ...")

    def apt(*words: str) -> subprocess.CompletedProcess[str]:
        quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        return subprocess.run(
            words, env=quiet, stdin=subprocess.DEVNULL, capture_output=True, text=True
        )

    updated = apt("apt-get", "update", "-q")
    quicker = [QUICKER] if apt("apt-cache", "show", QUICKER).returncode == 0 else []
    names = [*wanted, *quicker]
    installed = apt("apt-get", "install", "-y", "-q", "--no-install-recommends", *names)
    for done in (updated, installed):
        if done.returncode:
            said = (done.stdout + done.stderr)[-800:]
            say(f"  {' '.join(done.args[:2])} failed:\n{said}")
