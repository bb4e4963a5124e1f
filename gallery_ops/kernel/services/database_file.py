"""The database as one file: copied out while others write, put back in place of the present one.

SQLite by its own copying statement, checked before it counts; PostgreSQL by the tools of its
server, whose password goes by environment, never by argument.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
from contextlib import closing, suppress
from pathlib import Path

from django.db import connection

from gallery_ops.kernel.errors import Refused

NAME = "database"
TOOL_WITHIN_S = 3600


def copy_out(to: Path) -> dict[str, int]:
    """Write the database to ``to``; gives the number of rows of each table in it."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(to)])
        return _check_sqlite(to)
    _run("pg_dump", "--format=custom", "--no-owner", "--no-privileges", "--file", str(to))
    return _rows_here()


def put_in(file: Path, aside: Path) -> None:
    """Put the database of ``file`` in place of the present one, which is kept as ``aside``.

    Nobody else may have it open. Cut off at any line, the old one or the new one stands, and
    ``aside`` holds the old one.
    """
    if connection.vendor != "sqlite":
        _run("pg_dump", "--format=custom", "--no-owner", "--no-privileges", "--file", str(aside))
        connection.close()
        _run(
            "pg_restore",
            *("--clean", "--if-exists", "--single-transaction", "--no-owner", "--no-privileges"),
            *("--dbname", str(connection.settings_dict["NAME"]), str(file)),
        )
        return
    _check_sqlite(file)
    present = Path(connection.settings_dict["NAME"])
    connection.close()
    with suppress(FileNotFoundError):
        if present.exists():
            _copy_aside(present, aside)
    for end in ("-wal", "-shm"):
        Path(f"{present}{end}").unlink(missing_ok=True)
    draft = present.with_name(f".{present.name}.restored")
    shutil.copyfile(file, draft)
    with draft.open("rb") as whole:
        os.fsync(whole.fileno())
    os.replace(draft, present)


def _copy_aside(present: Path, aside: Path) -> None:
    """The present one with what its write-ahead log holds; a broken one as it lies."""
    try:
        with closing(sqlite3.connect(present)) as old:
            old.execute("VACUUM INTO ?", [str(aside)])
    except sqlite3.DatabaseError:
        shutil.copyfile(present, aside)


def _check_sqlite(file: Path) -> dict[str, int]:
    """Rows by table of a database file that is whole. Raises Refused for one that is not."""
    try:
        with closing(sqlite3.connect(f"file:{file}?mode=ro", uri=True)) as copy:
            verdict = copy.execute("PRAGMA integrity_check").fetchone()[0]
            if verdict != "ok" or copy.execute("PRAGMA foreign_key_check").fetchone():
                raise sqlite3.DatabaseError(verdict)
            names = copy.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
            )
            return {
                name: copy.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0]  # noqa: S608
                for (name,) in sorted(names)
            }
    except sqlite3.DatabaseError as trouble:
        raise Refused(
            "database_not_whole",
            f"The database does not check out ({trouble}): no backup was made of it.",
            {},
            "Stop the gallery and restore the last backup that was whole.",
        ) from None


def _rows_here() -> dict[str, int]:
    with connection.cursor() as cursor:
        names = sorted(connection.introspection.table_names(cursor))
        rows = {}
        for name in names:
            cursor.execute(f"SELECT count(*) FROM {connection.ops.quote_name(name)}")  # noqa: S608
            rows[name] = cursor.fetchone()[0]
    return rows


def _run(tool: str, *words: str) -> None:
    """One tool of the database server. Raises Refused with its last words when it fails."""
    path = shutil.which(tool)
    if path is None:
        raise Refused(
            "tool_missing",
            f"{tool} is not installed here, and PostgreSQL is copied by it.",
            {},
            "Install the client tools of the server's version (Debian: postgresql-client).",
        )
    said = connection.settings_dict
    place = {
        "PGHOST": said["HOST"],
        "PGPORT": said["PORT"],
        "PGUSER": said["USER"],
        "PGPASSWORD": said["PASSWORD"],
        "PGDATABASE": str(said["NAME"]),
    }
    done = subprocess.run(  # noqa: S603 - our own words, no shell
        [path, *words],
        env={**os.environ, **{key: value for key, value in place.items() if value}},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=TOOL_WITHIN_S,
        check=False,
    )
    if done.returncode:
        last = (done.stderr or done.stdout).strip().splitlines()[-1:] or ["no word"]
        raise Refused("tool_failed", f"{tool} did not finish: {last[0][:300]}")
