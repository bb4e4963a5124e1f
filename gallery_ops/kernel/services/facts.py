"""Who said it, and when was it so? The columns that every fact shares, and those of its undoing."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any, TypedDict
from uuid import UUID

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Device, Membership, Showroom


class Said(TypedDict, total=False):
    """How a fact reached us; all of it may be left out by a page that was filled in just now.

    ``done_at`` is what was said, ``done_at_corrected`` the same by our clock (worked out from the
    device's clock offset when it is not given), ``action_id`` the UUID of the device's action: the
    same id again gives the same fact and changes nothing.
    """

    done_at: datetime | None
    done_at_corrected: datetime | None
    device: Device | None
    action_id: UUID | None


def moment_of(at: datetime, said: Said) -> datetime:
    """When it was done, by our clock. Nothing is done after we heard of it."""
    corrected = said.get("done_at_corrected")
    done_at = said.get("done_at")
    device = said.get("device")
    if corrected is None and done_at is not None:
        offset_ms = device.clock_offset_ms if device is not None else 0
        corrected = done_at + timedelta(milliseconds=offset_ms)
    return min(corrected or at, at)


def fact_columns(showroom: Showroom, by: Membership, at: datetime, said: Said) -> dict[str, Any]:
    """The columns of :class:`gallery_ops.kernel.models.Fact` for a new row."""
    device = said.get("device")
    if device is not None and device.showroom_id != showroom.pk:
        raise Unknown("device")
    return {
        "showroom": showroom,
        "done_at": said.get("done_at") or at,
        "done_at_corrected": moment_of(at, said),
        "entered_at": at,
        "person": by.person,
        "device": device,
        "action_id": said.get("action_id"),
    }


def columns_of_taking_back(fact: Any, by: Membership, at: datetime, said: Said) -> dict[str, Any]:
    """The columns of a row that undoes ``fact``.

    It counts from the moment of what it undoes, so that a day in the past is told as it was;
    ``entered_at`` says when it was undone, and by whom stands beside it.

    Raises Refused ``undo_of_undo``: what was taken back is entered anew, never brought back.
    """
    if fact.takes_back:
        raise Refused("undo_of_undo", "This entry only takes back another: enter it anew instead.")
    return {
        **fact_columns(fact.showroom, by, at, said),
        "done_at": fact.done_at,
        "done_at_corrected": fact.done_at_corrected,
        "corrects": fact,
        "takes_back": True,
    }
