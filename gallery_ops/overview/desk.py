"""What somebody does at a desk goes through the same door as a tap on a tablet.

An envelope is made here with a fresh id, then applied like any other; a refusal comes back as the
refusal that a form shows.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.uuid7 import uuid7
from maintenance.actions.apply import Answer, Sender, apply_batch
from tanks.queries.tanks import tank_by_code


def act(
    *,
    by: Membership,
    kind: str,
    body: dict[str, Any],
    at: datetime,
    done_at: datetime | None = None,
    task: UUID | str | None = None,
    plan_version: UUID | None = None,
) -> Answer:
    """Apply one action of a person at a desk.

    Raises
    ------
    Refused
        with the words of the verdict when it was not accepted.
    """
    boot = uuid7(at)
    action = {
        "action_id": str(uuid7(at)),
        "device_id": "desk",
        "seq": 1,
        "schema": 1,
        "kind": kind,
        "round_id": None,
        "stop_id": None,
        "task_id": str(task) if task else None,
        "person_id": str(by.person.uid),
        "person_proof": "session",
        "done_at": (done_at or at).isoformat(timespec="milliseconds"),
        "monotonic_ms": 0,
        "boot_id": str(boot),
        "plan_version": str(plan_version) if plan_version else None,
        "corrects": None,
        "body": body,
    }
    answers, _received = apply_batch(
        sender=Sender(by.showroom, desk=by), actions=[action], sent_at=at, at=at
    )
    answer = answers[0]
    if answer.verdict not in {"accepted", "duplicate"}:
        raise Refused(
            answer.reason or answer.verdict,
            answer.words or _("This could not be written down."),
            remedy=answer.help or "",
        )
    return answer


def write_note(*, by: Membership, code: str, text: str, at: datetime) -> None:
    """A note about a tank."""
    words = text.strip()
    if not words or len(words) > 500:
        raise Refused(
            "note_length",
            _("Note: write 1 to 500 characters."),
            {"text": _("Allowed: 1 to 500 characters.")},
        )
    now = tank_by_code(by.showroom, code, at)
    act(by=by, kind="note", body={"text": words, "tank": now.code}, at=at)
