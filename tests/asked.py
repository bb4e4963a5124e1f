"""Which lines of the program have asked the database, and what came of it?

The suite runs whole on SQLite. On PostgreSQL a test is left out when others ask that database all
that it would ask: see tests/second_database.py. So that this stays true, each group notes the lines
that asked, and tests/run holds that PostgreSQL was asked by every line that asked SQLite.

A line is the innermost of our own above a statement; a line asks in another way when the statement
is refused.
"""

from __future__ import annotations

import os
from pathlib import Path
from types import CodeType, FrameType

HOUSE = Path(__file__).resolve().parents[1]
ROOMS = tuple(f"{HOUSE}/{room}/" for room in ("gallery_ops", "tanks", "inventory", "maintenance"))
ONE_ALONE = {"gallery_ops/kernel/guards.py"}
"""What the two databases are told in words of their own."""

is_noting = True
noted: set[tuple[CodeType, int, str]] = set()
_ours: dict[CodeType, bool] = {}


def line_of(frame: FrameType | None) -> tuple[CodeType, int] | None:
    """The innermost line of the program that led here, if one did."""
    while frame is not None:
        code = frame.f_code
        ours = _ours.get(code)
        if ours is None:
            ours = _ours[code] = code.co_filename.startswith(ROOMS)
        if ours:
            return code, frame.f_lineno
        frame = frame.f_back
    return None


def note(frame: FrameType | None, outcome: str = "") -> None:
    """Note that a statement was put from here; `outcome` names the error that it met."""
    if is_noting and (line := line_of(frame)):
        noted.add((*line, outcome))


def named(code: CodeType, number: int) -> str:
    """`room/file.py:12`"""
    return f"{Path(code.co_filename).relative_to(HOUSE).as_posix()}:{number}"


def keep(folder: Path, database: str) -> None:
    """Write what this process noted, a line each."""
    lines = {f"{named(code, number)} {outcome}".strip() for code, number, outcome in noted}
    path = folder / f"{database}.{os.getpid()}.asked"
    path.write_text("\n".join(sorted(lines)), encoding="utf-8")


def kept(folder: Path, database: str) -> set[str]:
    """What all processes of a group noted."""
    found: set[str] = set()
    for path in folder.glob(f"{database}.*.asked"):
        found.update(path.read_text(encoding="utf-8").splitlines())
    return found


def asked_of_sqlite_alone(folder: Path) -> list[str]:
    """Lines that asked SQLite and never PostgreSQL, in their order."""
    alone = kept(folder, "sqlite") - kept(folder, "postgresql")
    return sorted(line for line in alone if line.partition(":")[0] not in ONE_ALONE)
