"""The bytes of a picture arrive in pieces, in any order of pieces and actions, from a bad network.

A piece is written where the last one ended; what was sent before is sent again without harm. The
pieces lie apart, by showroom, until the whole has the hash by which it was announced; then it is
kept as every picture is, and a small note says so, also where the action that tells what it shows
has not come yet. A part that nobody goes on with is thrown away by :func:`tidy_parts`.
"""

from __future__ import annotations

import fcntl
import hashlib
import json
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Final

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Showroom
from tanks.models import Photo
from tanks.services.photo_files import MOST_BYTES, is_kept, keep_bytes, plain_picture

MOST_UNFINISHED_BYTES: Final = 400 * 1024 * 1024
"""Of pieces of one showroom: some hundred tablets that stopped half way (common practice, no
source)."""
LEAST_FREE_BYTES: Final = 500 * 1024 * 1024
"""Room that stays for entries: below it no picture is taken in."""
PART_LIVES: Final = timedelta(days=7)
NOTE_LIVES: Final = timedelta(days=75)
"""Longer than an entry may be late: its picture waits for it."""


@dataclass(frozen=True, slots=True)
class Progress:
    """What of a picture is here [bytes]; the next piece begins at ``received_bytes``."""

    received_bytes: int
    size_bytes: int
    is_whole: bool


def receive_part(
    *,
    showroom: Showroom,
    sha256: str,
    start: int | None,
    size_bytes: int,
    data: bytes,
    at: datetime,
) -> Progress:
    """Take in one piece; with ``start`` None nothing is brought and only asked what is here.

    Raises
    ------
    Refused
        ``too_large``, ``gap``, ``other_bytes``, ``wrong_hash``, ``no_picture``, ``no_room``.
    """
    _check_claim(start, size_bytes, len(data))
    known = _known(showroom, sha256)
    if known is not None:
        return known
    part = _folder(showroom) / f"{sha256}.{size_bytes}"
    if start is None:
        return Progress(part.stat().st_size if part.exists() else 0, size_bytes, is_whole=False)
    _check_room(showroom, len(data))
    with _locked(part) as handle:
        known = _known(showroom, sha256)
        if known is not None:  # another piece made it whole while this one waited
            part.unlink()
            return known
        received = _append(handle, start, data)
        if received < size_bytes:
            return Progress(received, size_bytes, is_whole=False)
        handle.seek(0)
        whole = handle.read()
        if hashlib.sha256(whole).hexdigest() != sha256:
            part.unlink()
            raise Refused(
                "wrong_hash",
                _("Picture: what arrived is not what was announced; its hash is another."),
                remedy=_("It is thrown away here. Send it again from the beginning."),
            )
        _finish(showroom, sha256, whole, at)
        part.unlink()
    found = _known(showroom, sha256)
    return found or Progress(size_bytes, size_bytes, is_whole=True)


def fill_from_parts(*, photo: Photo, at: datetime) -> None:
    """The bytes came before the action that tells of them: the row says that all are here."""
    told = _note(photo.showroom, photo.sha256)
    if told is not None:
        _fill(Photo.objects.filter(pk=photo.pk), told, at)
        photo.refresh_from_db()


def tidy_parts(*, showroom: Showroom, at: datetime) -> int:
    """Throw away pieces nobody went on with, and notes that no entry asked for; how many."""
    gone = 0
    for path in sorted(_folder(showroom).glob("*")):
        try:
            age = at - datetime.fromtimestamp(path.stat().st_mtime, tz=at.tzinfo)
        except FileNotFoundError:
            continue  # finished meanwhile
        if age > (NOTE_LIVES if path.suffix == ".kept" else PART_LIVES):
            path.unlink(missing_ok=True)
            gone += 1
    return gone


def _check_claim(start: int | None, size_bytes: int, length: int) -> None:
    if not 0 < size_bytes <= MOST_BYTES:
        raise Refused(
            "too_large",
            _("Picture: %(n)d bytes in all are announced.") % {"n": size_bytes},
            {"Content-Range": _("Allowed: 1 to %(n)d bytes.") % {"n": MOST_BYTES}},
            _("Make the picture smaller; 2,560 pixels on its long side are enough."),
        )
    if start is not None and (start < 0 or length == 0 or start + length > size_bytes):
        raise Refused(
            "wrong_range",
            _("Picture: this piece does not lie inside it."),
            {"Content-Range": _("From 0 to %(n)d, at least one byte.") % {"n": size_bytes - 1}},
            _("Ask with Content-Range: bytes */size what is here, and go on there."),
        )


def _check_room(showroom: Showroom, length: int) -> None:
    lie = sum(path.stat().st_size for path in _folder(showroom).glob("*.[0-9]*"))
    free = shutil.disk_usage(_folder(showroom)).free
    if lie + length > MOST_UNFINISHED_BYTES or free < LEAST_FREE_BYTES:
        raise Refused(
            "no_room",
            _("Pictures: the gallery computer has no room for more just now."),
            remedy=_("Entries are taken as before. Keep the picture and send it later."),
        )


def _append(handle: Any, start: int, data: bytes) -> int:
    """Write what is new of a piece; how much is here then."""
    here: int = os.fstat(handle.fileno()).st_size
    if start > here:
        raise Refused(
            "gap",
            _("Picture: %(here)d bytes are here and this piece begins at %(start)d.")
            % {"here": here, "start": start},
            remedy=_("Go on at byte %(here)d.") % {"here": here},
        )
    again = min(here - start, len(data))
    handle.seek(start)
    if handle.read(again) != data[:again]:
        raise Refused(
            "other_bytes",
            _("Picture: these bytes came before and were others."),
            remedy=_("Ask with Content-Range: bytes */size what is here, and go on there."),
        )
    handle.seek(here)
    handle.write(data[again:])
    handle.flush()
    os.fsync(handle.fileno())
    return here + len(data) - again


def _finish(showroom: Showroom, sha256: str, whole: bytes, at: datetime) -> None:
    """Keep the picture, note it, and say so in every row that waits for it."""
    try:
        media_type, kept = plain_picture(whole)
        told = {"kept_sha256": keep_bytes(kept), "media_type": media_type, "refused": ""}
    except Refused as no:
        told = {"kept_sha256": "", "media_type": "", "refused": f"{no.sentence} {no.remedy}"[:200]}
    told["size_bytes"] = str(len(whole))
    path = _folder(showroom) / f"{sha256}.kept"
    draft = path.with_suffix(f".draft{os.getpid()}")
    draft.write_text(json.dumps(told), "utf-8")
    draft.replace(path)
    with transaction.atomic():
        # whoever announces it takes this lock too: one of the two sees the other
        Showroom.objects.select_for_update(no_key=True).get(pk=showroom.pk)
        _fill(Photo.objects.of(showroom).filter(sha256=sha256, whole_at=None), told, at)


def _fill(rows: Any, told: dict[str, str], at: datetime) -> None:
    if told["refused"]:
        rows.update(refused_because=told["refused"])
        return
    size = int(told["size_bytes"])
    rows.update(
        kept_sha256=told["kept_sha256"],
        media_type=told["media_type"],
        size_bytes=size,
        received_bytes=size,
        refused_because="",
        whole_at=at,
    )


def _known(showroom: Showroom, sha256: str) -> Progress | None:
    """The whole picture is here already, of this gallery. Raises Refused where it is none."""
    told = _note(showroom, sha256)
    if told is not None:
        if told["refused"]:
            raise Refused("no_picture", told["refused"])
        size = int(told["size_bytes"])
        return Progress(size, size, is_whole=True)
    row = Photo.objects.of(showroom).filter(sha256=sha256, whole_at__isnull=False).first()
    if row is None or not is_kept(row.kept_sha256):
        return None
    return Progress(row.size_bytes, row.size_bytes, is_whole=True)


def _note(showroom: Showroom, sha256: str) -> dict[str, str] | None:
    """What is said of bytes that are all here; None when they are not, or not any more."""
    try:
        told: dict[str, str] = json.loads((_folder(showroom) / f"{sha256}.kept").read_text("utf-8"))
    except (FileNotFoundError, ValueError):
        return None
    return told if told["refused"] or is_kept(told["kept_sha256"]) else None


def _folder(showroom: Showroom) -> Path:
    """Each gallery has its own: what another sent is not even there."""
    folder = Path(settings.MEDIA_ROOT) / "photo_parts" / str(showroom.pk)
    folder.mkdir(mode=0o750, parents=True, exist_ok=True)
    return folder


@contextmanager
def _locked(path: Path) -> Iterator[Any]:
    """The file of a part, for one writer at a time; a finished one is not written to any more."""
    while True:
        number = os.open(path, os.O_RDWR | os.O_CREAT, 0o640)
        with os.fdopen(number, "r+b") as handle:
            fcntl.flock(handle, fcntl.LOCK_EX)
            if os.fstat(handle.fileno()).st_nlink:
                yield handle
                return
