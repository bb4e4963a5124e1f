"""The whole gallery in one file, and back again: what was acknowledged may not hang on one disk.

A backup is a gzipped tar with ``manifest.json`` first, then the database as one file (SQLite: a
copy made by ``VACUUM INTO``; PostgreSQL: an archive of ``pg_dump``) and everything people sent in.
It may be made while the gallery works. The manifest names the program's last step of each room, the
rows of each table and the SHA-256 of each file; a restore believes nothing that does not match.

The signing key is not in it: who restores elsewhere signs in anew. PINs, passwords and tokens are
in it as hashes, addresses and telephone numbers as they are: keep the file as you keep the keys.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import os
import shutil
import tarfile
import tempfile
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection

from gallery_ops.kernel import steps
from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.services import database_file

MANIFEST = "manifest.json"
FORMAT = 1
MOST_MANIFEST_BYTES = 1_000_000
MADE_AGAIN = "made"
"""Folder beside what people sent in: of files that are made of it again when they are missing."""


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup says of itself.

    ``steps`` is the last migration of each app, ``rows`` the rows of each table, ``sums`` the
    SHA-256 of each file in it; times in ISO 8601 with their offset.
    """

    format: int
    made_at: str
    engine: str
    steps: Mapping[str, str]
    rows: Mapping[str, int]
    sums: Mapping[str, str]


def back_up(*, to: Path, at: datetime) -> Manifest:
    """Write everything into ``to``; a file of that name is replaced only when the new one is whole.

    Raises Refused when the folder may not be written, the database does not check out, or the tool
    of the database server is missing.
    """
    folder = to.parent
    try:
        folder.mkdir(mode=0o750, parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder, prefix=".backup.") as scratch:
            made = _write(Path(scratch), at)
            os.replace(Path(scratch) / "whole", to)
    except OSError as trouble:
        raise Refused(
            "backup_not_written",
            f"The backup {to} could not be written ({trouble.strerror or trouble}).",
            {"to": "A file in a folder that this user may write, with room for the database."},
        ) from None
    return made


def _write(scratch: Path, at: datetime) -> Manifest:
    database = scratch / database_file.NAME
    rows = database_file.copy_out(database)
    files = {database_file.NAME: database, **_sent_in()}
    manifest = Manifest(
        format=FORMAT,
        made_at=at.isoformat(),
        engine=connection.vendor,
        steps=steps.last_steps(),
        rows=rows,
        sums={name: sha256_of(path) for name, path in files.items()},
    )
    (scratch / MANIFEST).write_text(json.dumps(asdict(manifest), indent=1, sort_keys=True))
    handle = os.open(scratch / "whole", os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with (
        os.fdopen(handle, "wb") as out,
        gzip.GzipFile(fileobj=out, mode="wb", mtime=0, compresslevel=6) as packed,
        tarfile.open(fileobj=packed, mode="w") as tar,
    ):
        tar.add(scratch / MANIFEST, MANIFEST)
        for name, path in files.items():
            tar.add(path, name, recursive=False)
    with (scratch / "whole").open("rb") as whole:
        os.fsync(whole.fileno())
    return manifest


def read_manifest(file: Path) -> Manifest:
    """What the backup says of itself. Raises Refused when it is none or of a newer program."""
    try:
        with tarfile.open(file, "r:gz") as tar:
            first = tar.next()
            if first is None or first.name != MANIFEST or first.size > MOST_MANIFEST_BYTES:
                raise ValueError("no manifest")
            inside = tar.extractfile(first)
            said: dict[str, Any] = json.loads(inside.read()) if inside else {}
        manifest = Manifest(**said)
    except FileNotFoundError:
        raise Refused(
            "no_such_backup", f"There is no file {file}.", {"file": "The path of a backup."}
        ) from None
    except (OSError, EOFError, ValueError, TypeError, tarfile.TarError):
        raise Refused(
            "not_a_backup",
            f"{file} is no whole backup of a gallery.",
            {"file": "A file written by manage.py back_up."},
            "Take an older backup; keep this file until the gallery runs again.",
        ) from None
    _refuse_foreign(file, manifest)
    return manifest


def _take_out(tar: tarfile.TarFile, entry: tarfile.TarInfo, into: Path) -> None:
    """The bytes of one file, under ``into``, with nothing else of what the archive says."""
    target = into / entry.name
    if not target.resolve().is_relative_to(into.resolve()):
        raise tarfile.TarError(f"{entry.name} leads out of the backup")
    target.parent.mkdir(parents=True, exist_ok=True)
    inside = tar.extractfile(entry)
    assert inside is not None  # noqa: S101 - a file, as asked before
    with target.open("wb") as out:
        shutil.copyfileobj(inside, out)


def unpack(file: Path, manifest: Manifest, into: Path) -> None:
    """Every file of the backup, each held against its sum. Raises Refused when one does not match.

    Only the names of the manifest are taken out; a path that leads out of ``into`` is refused.
    """
    try:
        with tarfile.open(file, "r:gz") as tar:
            for entry in tar:
                if entry.name in manifest.sums and entry.isfile():
                    _take_out(tar, entry, into)
        wrong = [n for n, s in manifest.sums.items() if sha256_of(into / n) != s]
    except (OSError, EOFError, tarfile.TarError) as trouble:
        raise Refused(
            "backup_cut_off", f"{file} cannot be read to its end ({trouble}). Nothing was changed."
        ) from None
    if wrong:
        raise Refused(
            "backup_changed",
            f"{file}: {wrong[0]} is not what was written. Nothing was changed.",
            {"file": "A backup whose files match their sums."},
            "Take an older backup.",
        )


def _refuse_foreign(file: Path, manifest: Manifest) -> None:
    if manifest.engine != connection.vendor:
        raise Refused(
            "other_database",
            f"{file} was made on {manifest.engine}, this gallery runs on {connection.vendor}.",
            {"file": f"A backup made on {connection.vendor}."},
            "Set or unset DATABASE_URL so that both are the same.",
        )
    known = steps.known()
    newer = [f"{a} {n}" for a, n in sorted(manifest.steps.items()) if (a, n) not in known]
    if manifest.format > FORMAT or newer:
        raise Refused(
            "newer_backup",
            f"{file} was made by a newer version of Gallery Ops"
            + (f" ({newer[0]} is not known here)." if newer else "."),
            {},
            "Install that version, then restore.",
        )
    if older := steps.cannot_go_on(manifest.steps):
        raise Refused(
            "older_backup",
            f"{file} was made by an older version of Gallery Ops, at a step ({older}) from which "
            "this one does not lead on. Nothing was changed.",
            {"file": "A backup made by the version before this one, or by this one."},
            "Restore it with the version that made it, start the version before this one once, "
            "and make a backup there.",
        )


def _sent_in() -> dict[str, Path]:
    """Files that people sent in, by their name in the backup."""
    root = Path(settings.MEDIA_ROOT)
    found = sorted(p for p in root.rglob("*") if p.is_file()) if root.is_dir() else []
    found = [path for path in found if path.relative_to(root).parts[0] != MADE_AGAIN]
    return {f"media/{path.relative_to(root).as_posix()}": path for path in found}


def sha256_of(path: Path) -> str:
    """SHA-256 of a file, in hexadecimal."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
