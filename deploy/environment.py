"""How does a folder of installed packages come to be, once, and only again when the list changed?

Used by deploy/start and tests/run. Standard library only: it runs before anything is installed.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import subprocess
import sys
import time
from collections import deque
from collections.abc import Callable
from pathlib import Path
from typing import IO

STAMP = "installed.sha256"
NETWORK_SIGNS = (
    "NewConnectionError",
    "name resolution",
    "Network is unreachable",
    "Connection refused",
    "ConnectTimeout",
    "Could not fetch URL",
    "No matching distribution found",
)


class Trouble(Exception):
    """A sentence for people: what is wrong and what to do."""


def wanted_stamp(lists: list[Path]) -> str:
    """Hash of the lists and of the Python that installs them."""
    sum_ = hashlib.sha256(sys.version.encode())
    for path in lists:
        sum_.update(path.read_bytes())
    return sum_.hexdigest()


def python_of(folder: Path) -> Path:
    return folder / "bin" / "python"


def is_ready(folder: Path, lists: list[Path]) -> bool:
    """True when `folder` holds a working Python with exactly these lists installed."""
    stamp = folder / STAMP
    return (
        python_of(folder).exists()
        and stamp.exists()
        and stamp.read_text().strip() == f"{wanted_stamp(lists)} {folder}"
    )


def make(
    folder: Path, lists: list[Path], say: Callable[[str], None], *, compiled: bool = True
) -> Path:
    """The venv at `folder` with `lists` installed; gives its Python. Raises Trouble.

    `compiled`: everything as bytecode at once, for whoever may not write there later. Without it,
    which is a third quicker, the first that loads a file keeps it as bytecode.
    """
    if is_ready(folder, lists):
        return python_of(folder)
    began = time.monotonic()
    _make_empty(folder, say)
    _install(folder, lists, say, [] if compiled else ["--no-compile"])
    (folder / STAMP).write_text(f"{wanted_stamp(lists)} {folder}\n")
    say(f"Packages are installed ({time.monotonic() - began:.0f} s).")
    return python_of(folder)


def _make_empty(folder: Path, say: Callable[[str], None]) -> None:
    if importlib.util.find_spec("venv") is None or importlib.util.find_spec("ensurepip") is None:
        version = f"{sys.version_info.major}.{sys.version_info.minor}"
        raise Trouble(
            "Python's venv module is missing. Install it (Debian, Ubuntu: apt-get install -y "
            f"python3-venv or python{version}-venv), then run this again."
        )
    say(f"Making the Python environment in {folder} ...")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / STAMP).unlink(missing_ok=True)
    except OSError as trouble:
        raise Trouble(
            f"The folder {folder} may not be written ({trouble.strerror}). Run this as the user "
            "that owns the program's folder, or copy the program to a folder of your own."
        ) from None
    done = subprocess.run(
        [sys.executable, "-m", "venv", "--clear", str(folder)], capture_output=True, text=True
    )
    if done.returncode:
        raise Trouble(
            f"The Python environment in {folder} could not be made. What Python said:\n"
            + (done.stdout + done.stderr).strip()[-800:]
        )


def _install(folder: Path, lists: list[Path], say: Callable[[str], None], more: list[str]) -> None:
    say("Installing packages; the first time this takes a minute or more on a slow line ...")
    options = [*more, *(part for path in lists for part in ("-r", str(path)))]
    command = [str(python_of(folder)), "-m", "pip", "install", "--no-input", "--retries", "2"]
    command += ["--timeout", "15", "--progress-bar", "off", "--disable-pip-version-check"]
    environment = {**os.environ, "PYTHONUNBUFFERED": "1", "PIP_ROOT_USER_ACTION": "ignore"}
    last: deque[str] = deque(maxlen=40)
    with subprocess.Popen(
        command + options,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
        env=environment,
    ) as pip:
        assert pip.stdout is not None
        _show_progress(pip.stdout, last, say)
    if pip.returncode == 0:
        return
    said = "".join(last)
    if any(sign in said for sign in NETWORK_SIGNS):
        raise Trouble(
            "The packages could not be fetched: it looks as if this machine has no network. "
            "Connect it (behind a proxy, set HTTPS_PROXY), then run this again.\n"
            "The last lines of the installer:\n" + _end_of(said)
        )
    raise Trouble(
        "The packages could not be installed. The last lines of the installer:\n" + _end_of(said)
    )


def _show_progress(lines: IO[str], last: deque[str], say: Callable[[str], None]) -> None:
    """One line for every ten packages; `last` keeps the end of what the installer said."""
    found = 0
    for line in lines:
        last.append(line)
        found += line.startswith("Collecting ")
        if line.startswith("Collecting ") and found % 10 == 0:
            say(f"  {found} packages found ...")
        if line.startswith("Installing collected"):
            say(f"  {found} packages fetched, unpacking ...")


def _end_of(text: str) -> str:
    lines = text.strip().splitlines()[-4:]
    return "\n".join(line[:300] for line in lines)
