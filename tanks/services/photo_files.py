"""A picture is kept: its bytes in the data folder under their own hash, private to the gallery.

What a camera writes beside the picture (place, maker, owner) is left out: the pixels are written
anew. The file is whole before the row says so, and its name is the hash of what is kept, so a
picture that is sent twice is one file. Visitors get a smaller one, made when somebody first asks
for it and kept beside; it can be thrown away and is made again.
"""

from __future__ import annotations

import hashlib
import io
import os
import secrets
import zlib
from datetime import datetime
from pathlib import Path
from typing import Final
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _
from PIL import Image, ImageOps, UnidentifiedImageError

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.backups import MADE_AGAIN
from tanks.models import Photo

MOST_BYTES: Final = 12 * 1024 * 1024
MOST_PIXELS: Final = 50_000_000
LONGEST_SIDE: Final = 3_000
VISITORS_SIDE: Final = 1_280
"""Twice the width at which a visitor's page shows a picture [px]: a telephone draws two for one."""
TYPES: Final = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
QUALITY: Final = 85
BROKEN: Final = (
    Image.DecompressionBombError,
    OSError,
    SyntaxError,
    UnidentifiedImageError,
    ValueError,
    zlib.error,
)
"""What a damaged picture leads to in its reader."""


@transaction.atomic
def keep_photo(
    *,
    showroom: Showroom,
    data: bytes,
    subject: str,
    by: Membership,
    at: datetime,
    action_id: UUID | None = None,
) -> Photo:
    """Keep a picture of something, named as in ``receipt:<uid>:2``.

    The same bytes of the same subject, or the same ``action_id``, again give the same photo.

    Raises
    ------
    Refused
        ``no_picture``, ``too_large``: what was sent is none, or more than is kept.
    """
    require(by, "record", in_=showroom)
    Showroom.objects.select_for_update(no_key=True).get(pk=showroom.pk)  # twice at once is one
    sent = hashlib.sha256(data).hexdigest()
    known = Photo.objects.of(showroom)
    row: Photo | None = known.filter(sha256=sent, subject=subject).first()
    if row is None and action_id is not None:
        row = known.filter(action_id=action_id).first()
    if row is not None:
        return row
    media_type, kept = plain_picture(data)
    digest = keep_bytes(kept)
    row = Photo.objects.create(
        showroom=showroom,
        sha256=sent,
        kept_sha256=digest,
        size_bytes=len(data),
        received_bytes=len(data),
        media_type=media_type,
        subject=subject,
        taken_at=at,
        taken_by=by.person,
        action_id=action_id,
        whole_at=at,
    )
    audit.record(by=by, at=at, deed="photo.kept", subject=row, after={"of": subject})
    return row


def bytes_of(photo: Photo) -> bytes:
    """What is kept of it. Raises Unknown when its bytes are not here."""
    if not photo.kept_sha256:
        raise Unknown("photo")
    try:
        return _path(photo.kept_sha256).read_bytes()
    except OSError:
        raise Unknown("photo") from None


def smaller_of(photo: Photo) -> bytes:
    """What visitors get of it: its longer side at most ``VISITORS_SIDE``, pixels alone.

    Raises Unknown when its bytes are not here.
    """
    path = _path(photo.kept_sha256 or "", f"{MADE_AGAIN}/photos-{VISITORS_SIDE}")
    try:
        return path.read_bytes()
    except OSError:
        whole = bytes_of(photo)
    small = _shrunk(whole)
    _write(path, small)
    return small


def _shrunk(whole: bytes) -> bytes:
    """Drawn again at the smaller size; what is small enough stays as it is."""
    with Image.open(io.BytesIO(whole), formats=tuple(TYPES)) as opened:
        if max(opened.size) <= VISITORS_SIDE:
            return whole
        kind = opened.format or ""
        upright = opened.convert("RGBA") if opened.mode == "P" else opened.copy()
        upright.thumbnail((VISITORS_SIDE, VISITORS_SIDE), Image.Resampling.LANCZOS)
        return _pixels_alone(upright, kind)


def keep_bytes(data: bytes) -> str:
    """Keep the bytes of a plain picture; their hash, by which the file is called."""
    digest = hashlib.sha256(data).hexdigest()
    _write(_path(digest), data)
    return digest


def is_kept(kept_sha256: str) -> bool:
    """Are the bytes of this hash here?"""
    return bool(kept_sha256) and _path(kept_sha256).exists()


def plain_picture(data: bytes) -> tuple[str, bytes]:
    """Kind of a picture by its content, and its pixels alone, upright, no larger than is needed.

    Raises
    ------
    Refused
        ``no_picture``, ``too_large``.
    """
    if len(data) > MOST_BYTES:
        raise Refused(
            "too_large",
            _("Picture: %(n)d MB are too many.") % {"n": len(data) // 1024 // 1024},
            {"photo": _("Allowed: up to %(n)d MB.") % {"n": MOST_BYTES // 1024 // 1024}},
            _("Take it again at a smaller size."),
        )
    try:
        with Image.open(io.BytesIO(data), formats=tuple(TYPES)) as opened:
            kind = opened.format or ""
            if kind not in TYPES or opened.width * opened.height > MOST_PIXELS:
                raise UnidentifiedImageError
            upright = ImageOps.exif_transpose(opened)
            upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
            plain = _pixels_alone(upright, kind)
    except BROKEN:
        raise Refused(
            "no_picture",
            _("Picture: this cannot be read as one."),
            {"photo": _("Allowed: JPEG, PNG or WebP, up to 50 million pixels.")},
            _("Choose the picture itself, or take it again."),
        ) from None
    return TYPES[kind], plain


def _pixels_alone(picture: Image.Image, kind: str) -> bytes:
    """Nothing that a camera or a program wrote beside the picture goes with it."""
    out = io.BytesIO()
    bare = Image.new(picture.mode, picture.size)
    bare.paste(picture)
    if picture.mode == "P" and picture.palette is not None:
        bare.putpalette(picture.palette)
    bare.save(out, kind, **({} if kind == "PNG" else {"quality": QUALITY}))
    return out.getvalue()


def _path(digest: str, folder: str = "photos") -> Path:
    return Path(settings.MEDIA_ROOT) / folder / digest[:2] / digest


def _write(path: Path, data: bytes) -> None:
    """Whole or not at all; a file of this name is this very picture."""
    if path.exists():
        return
    path.parent.mkdir(mode=0o750, parents=True, exist_ok=True)
    draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o640)
    with os.fdopen(handle, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    draft.replace(path)
