"""The outbox of a tablet, saved to a file there: read, then judged as if the tablet had sent it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Device, Membership, Showroom
from gallery_ops.kernel.queries.devices import device_by_uid
from gallery_ops.kernel.rights import require
from maintenance.actions.apply import Answer, Sender, apply_batch
from maintenance.actions.desk import DESK
from maintenance.actions.envelope import MOST_ACTIONS

FORMAT = "gallery-ops-outbox"
MOST_FILE_BYTES = 2 * 1024 * 1024
MOST_ENTRIES = 1_000
MOST_OFFSET = timedelta(days=366)

Raw = dict[str, Any]


@dataclass(frozen=True, slots=True)
class SavedFile:
    """What a tablet saved.

    offset : of the gallery's clock against the tablet's, as the tablet last measured it; nothing
        where it never did
    """

    device_id: str
    offset: timedelta
    actions: list[Any]


@dataclass(frozen=True, slots=True)
class Judged:
    """One entry of the file, as it came, and what became of it."""

    raw: Any
    answer: Answer


def read_saved(data: bytes) -> SavedFile:
    """The file.

    Raises
    ------
    Refused
        ``too_large``, ``not_json``, ``half`` or ``not_ours``; then nothing was read from it.
    """
    if len(data) > MOST_FILE_BYTES:
        raise Refused(
            "too_large",
            "This file is larger than any outbox.",
            {"file": f"Allowed: at most {MOST_FILE_BYTES // 1024**2} MB."},
            "Choose the file that the tablet saved.",
        )
    read = _json(data)
    found: Raw = read if isinstance(read, dict) and read.get("format") == FORMAT else {}
    actions = found.get("actions")
    if not isinstance(actions, list):
        raise Refused(
            "not_ours",
            "This is no saved outbox.",
            remedy="On the tablet open what waits, and press “Save to a file”.",
        )
    if found.get("entries") != len(actions):
        raise _half()
    if len(actions) > MOST_ENTRIES:
        raise Refused(
            "too_large",
            f"This file holds {len(actions)} entries.",
            {"file": f"Allowed: at most {MOST_ENTRIES} in one file."},
            "Bring the tablet near the network, where it sends any number.",
        )
    return SavedFile(str(found.get("device_id"))[:64], _offset(found.get("offset_ms")), actions)


def bring_in_saved(
    *, showroom: Showroom, by: Membership, saved: SavedFile, at: datetime
) -> list[Judged]:
    """Keep and apply each entry, oldest first; what came in before is not counted twice.

    A file saved at a desk holds what one person entered there: only that person may bring it in,
    entries of others are held.

    Raises
    ------
    Forbidden
        without the right to enrol tablets; Unknown in a showroom of others.
    Refused
        ``foreign`` when the tablet is none of this showroom.
    """
    require(by, "device.enrol", in_=showroom)
    device = None if saved.device_id == DESK else _device(showroom, saved.device_id)
    sender = Sender(showroom=showroom, device=device, desk=None if device else by)
    judged: list[Judged] = []
    for begin in range(0, len(saved.actions), MOST_ACTIONS):
        batch = saved.actions[begin : begin + MOST_ACTIONS]
        answers, _received = apply_batch(
            sender=sender, actions=batch, sent_at=at - saved.offset, at=at
        )
        judged += [Judged(raw, answer) for raw, answer in zip(batch, answers, strict=True)]
    return judged


def _json(data: bytes) -> object:
    """Raises Refused ``half`` where it begins as one of ours and breaks off, else ``not_json``."""
    try:
        text = data.decode("utf-8-sig")
        found: object = json.loads(text)
    except (ValueError, RecursionError):
        if FORMAT.encode() in data[:200]:
            raise _half() from None
        raise Refused(
            "not_json",
            "This file cannot be read.",
            {"file": "Allowed: the file that a tablet saved; its name ends in .json."},
            "Choose that file, unchanged.",
        ) from None
    return found


def _half() -> Refused:
    return Refused(
        "half",
        "This is only a part of the file: it breaks off, or something was cut out.",
        remedy="Copy it from the tablet once more, or save it there again: nothing was taken out.",
    )


def _offset(ms: object) -> timedelta:
    """What the tablet said of its clock; nothing it could not have measured is believed."""
    if not isinstance(ms, int) or isinstance(ms, bool):
        return timedelta(0)
    limit = int(MOST_OFFSET / timedelta(milliseconds=1))
    return timedelta(milliseconds=ms) if abs(ms) <= limit else timedelta(0)


def _device(showroom: Showroom, uid: str) -> Device:
    try:
        return device_by_uid(showroom, UUID(uid))
    except (ValueError, Unknown):
        raise Refused(
            "foreign",
            "This file is of a tablet that this gallery does not know.",
            remedy="Sign in to the gallery where the tablet was enrolled, and bring it in there.",
        ) from None
