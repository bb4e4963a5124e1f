"""A page at a desk says what a tablet would say: the envelope is made here, on the server."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.uuid7 import uuid7
from maintenance.actions.apply import Answer, Sender, apply_batch

DESK = "desk"


PAPER = "paper"
"""In place of the desk: what was written on a printed round, and typed in afterwards."""


@dataclass(frozen=True, slots=True)
class Deed:
    """One action of a person at a desk.

    done_at : when it was done, where that is not now. action_id : one's own, so that the same said
    twice counts once.
    """

    kind: str
    body: dict[str, Any]
    round_id: str | None = None
    stop_id: str | None = None
    task_id: str | None = None
    plan_version: str | None = None
    done_at: datetime | None = None
    action_id: str = ""
    corrects: str | None = None


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
    corrects: str | None = None,
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
    deed = Deed(kind, body, round_id, stop_id, task_id, action_id=str(uuid7(at)), corrects=corrects)
    sender = Sender(showroom=by.showroom, desk=by)
    with transaction.atomic():
        answers, _received = apply_batch(
            sender=sender, actions=[_envelope(deed, by, at, DESK)], sent_at=at, at=at
        )
        answer = answers[0]
        if answer.verdict != "accepted" and keep is not None and answer.reason not in keep:
            transaction.set_rollback(True)
    if answer.verdict != "accepted":
        raise _held(answer)
    return deed.action_id


def say_all_at_desk(
    deeds: Sequence[Deed], *, by: Membership, at: datetime, device_id: str = DESK, boot_id: str = ""
) -> list[bool]:
    """Apply all or none, in their order; for each whether it is new (else it was known).

    boot_id : one's own where ids are, so that the same said twice is the same to the letter

    Raises
    ------
    Held
        the first that could not be applied; nothing of the list is kept then
    """
    sender = Sender(showroom=by.showroom, desk=by)
    actions = [_envelope(deed, by, at, device_id, boot_id) for deed in deeds]
    with transaction.atomic():
        answers, _received = apply_batch(sender=sender, actions=actions, sent_at=at, at=at)
        wrong = next((a for a in answers if a.verdict not in {"accepted", "duplicate"}), None)
        if wrong is not None:
            transaction.set_rollback(True)
    if wrong is not None:
        raise _held(wrong)
    return [answer.verdict == "accepted" for answer in answers]


def _held(answer: Answer) -> Held:
    sentence = answer.sentence or answer.words or ""
    return Held(answer.reason or answer.verdict, sentence, dict(answer.fields), answer.help or "")


def _envelope(
    deed: Deed, by: Membership, at: datetime, device_id: str, boot_id: str = ""
) -> dict[str, Any]:
    return {
        "action_id": deed.action_id or str(uuid7(at)),
        "device_id": device_id,
        "seq": 1,
        "schema": 1,
        "kind": deed.kind,
        "round_id": deed.round_id,
        "stop_id": deed.stop_id,
        "task_id": deed.task_id,
        "person_id": str(by.person.uid),
        "person_proof": "session",
        "done_at": (deed.done_at or at).isoformat(timespec="milliseconds"),
        "monotonic_ms": 0,
        "boot_id": boot_id or str(uuid7(at)),
        "plan_version": deed.plan_version,
        "corrects": deed.corrects,
        "body": deed.body,
    }
