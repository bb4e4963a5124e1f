"""A page at a desk says what a tablet would say: the envelope is made here, on the server."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import Any

from django.db import transaction

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.uuid7 import uuid7
from maintenance.actions.apply import Sender, apply_batch

DESK = "desk"


def say_at_desk(
    *,
    kind: str,
    body: dict[str, Any],
    by: Membership,
    at: datetime,
    round_id: str | None = None,
    stop_id: str | None = None,
    task_id: str | None = None,
    keep: Collection[str] | None = None,
) -> str:
    """Apply one action of the person who is signed in; gives its id.

    Parameters
    ----------
    keep : codes for which an action that could not be applied is kept for a person; every other
        one leaves nothing behind, since whoever typed it stands before the form and puts it right.
        None keeps all.

    Raises
    ------
    Held
        when it could not be applied; its words say what would help
    """
    action_id = str(uuid7(at))
    envelope = {
        "action_id": action_id,
        "device_id": DESK,
        "seq": 1,
        "schema": 1,
        "kind": kind,
        "round_id": round_id,
        "stop_id": stop_id,
        "task_id": task_id,
        "person_id": str(by.person.uid),
        "person_proof": "session",
        "done_at": at.isoformat(timespec="milliseconds"),
        "monotonic_ms": 0,
        "boot_id": str(uuid7(at)),
        "plan_version": None,
        "corrects": None,
        "body": body,
    }
    sender = Sender(showroom=by.showroom, desk=by)
    with transaction.atomic():
        answers, _received = apply_batch(sender=sender, actions=[envelope], sent_at=at, at=at)
        answer = answers[0]
        if answer.verdict != "accepted" and keep is not None and answer.reason not in keep:
            transaction.set_rollback(True)
    if answer.verdict != "accepted":
        sentence = answer.sentence or answer.words or ""
        raise Held(
            answer.reason or answer.verdict, sentence, dict(answer.fields), answer.help or ""
        )
    return action_id
