"""Where does a file lie between its dry run and the moment when it is brought in?

In a folder of the gallery's data, named by its showroom and its content, for a day. The
browser keeps only that name, so what is brought in is what was looked at.
"""

from __future__ import annotations

import os
import re
from datetime import datetime, timedelta
from pathlib import Path

from gallery_ops.fleet_file.dry_run import file_hash
from gallery_ops.kernel.models import Showroom

KEPT = timedelta(hours=24)


def keep(folder: Path, showroom: Showroom, content: bytes, at: datetime) -> str:
    """Put a file on the shelf and clear away what lay there for a day; gives its name."""
    folder.mkdir(parents=True, exist_ok=True)
    _clear(folder, at)
    name = file_hash(content)
    path = _path(folder, showroom, name)
    if not path.exists():
        part = path.with_suffix(".part")
        part.write_bytes(content)
        part.replace(path)
    # Age is counted by the clock of the gallery, which may be set.
    os.utime(path, (at.timestamp(), at.timestamp()))
    return name


def take(folder: Path, showroom: Showroom, name: str) -> bytes | None:
    """The file of that name, or None where it does not lie there (any more)."""
    if not re.fullmatch(r"[0-9a-f]{64}", name):
        return None
    try:
        return _path(folder, showroom, name).read_bytes()
    except OSError:
        return None


def _path(folder: Path, showroom: Showroom, name: str) -> Path:
    return folder / f"{showroom.pk}-{name}.file"


def _clear(folder: Path, at: datetime) -> None:
    oldest = (at - KEPT).timestamp()
    for path in folder.glob("*-*.*"):
        try:
            if path.stat().st_mtime < oldest:
                path.unlink()
        except OSError:
            continue
