"""Is it proven who did this, or did a PIN only name somebody where nobody could check it?

Nothing that a tablet says of itself is enough: the gallery's own book of signing in must hold that
person on that tablet, not long before.
"""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from uuid import UUID

from gallery_ops.kernel.models import Device, Membership
from gallery_ops.kernel.queries.devices import last_signed_in
from maintenance.models import Action

PROVEN_FOR = timedelta(hours=12)
"""So long a PIN that the gallery checked stands for its person on that tablet: a long shift (common
practice, no source)."""
SLACK = timedelta(minutes=1)
"""A tablet's clock is put right to about so much."""


def needs_a_word(
    *, skill: str, by: Membership, device: Device | None, action_id: UUID | None, done_at: datetime
) -> bool:
    """Was work of this skill signed for by nothing but a PIN that nobody could check?

    done_at : by the gallery's clock
    """
    if skill != "C3" or device is None:
        return False
    raw = Action.objects.of(by.showroom_id).filter(action_id=action_id).order_by("pk").first()
    if raw is not None and raw.person_id not in (None, by.person_id):
        return False  # somebody else let it count, and stands for it
    return _proof(raw) != "session" or not was_proven(by, device, done_at)


def was_proven(by: Membership, device: Device, at: datetime) -> bool:
    """Had the gallery itself checked this person's PIN on this tablet, and nobody's after it?"""
    last = last_signed_in(device, at + SLACK)
    return last is not None and last.person_id == by.person_id and last.at > at - PROVEN_FOR


def _proof(raw: Action | None) -> str:
    if raw is None:
        return ""
    try:
        return str(json.loads(raw.canonical).get("person_proof", ""))
    except (ValueError, AttributeError):
        return ""
