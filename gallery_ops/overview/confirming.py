"""Work that waits for a word: what was done, by whom, on which tablet, and what follows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import may
from maintenance.queries.confirming import completion_to_confirm, to_confirm
from maintenance.services.confirming import confirm_completion

MOST = 30
SO, NOT_SO = "was_so", "was_not_so"


@dataclass(frozen=True, slots=True)
class Unproven:
    """One deed that counts and that nobody has vouched for."""

    uid: str
    task_uid: str
    task: str
    tank: str
    who: str
    tablet: str
    done_at: datetime


@dataclass(frozen=True, slots=True)
class UnprovenWork:
    """All of it, the oldest first; ``more`` do not fit on the page."""

    rows: list[Unproven]
    more: int
    may_vouch: bool


def unproven_work(showroom: Showroom, by: Membership) -> UnprovenWork:
    """What waits for a word; in two queries at most."""
    waiting = to_confirm(showroom)
    found = list(waiting[: MOST + 1])
    rows = [
        Unproven(
            uid=str(one.action_id),
            task_uid=str(one.due_task.uid),
            task=one.due_task.template.name,
            tank=one.due_task.subject_key if one.due_task.tank else "",
            who=one.person.name,
            tablet=one.device.name if one.device else "",
            done_at=one.done_at_corrected,
        )
        for one in found[:MOST]
    ]
    more = waiting.count() - MOST if len(found) > MOST else 0
    return UnprovenWork(rows, more, may(by, "correct"))


def vouch(
    *, by: Membership, at: datetime, uid: UUID, task_uid: str, choice: str, reason: str
) -> str:
    """Do what was chosen; gives the sentence that says what holds now.

    Raises Unknown, and what :func:`maintenance.services.confirming.confirm_completion` refuses.
    """
    if choice not in {SO, NOT_SO}:
        sentence = _("Choose what shall hold.")
        raise Refused("no_choice", sentence, {"choice": sentence})
    confirm_completion(
        completion=completion_to_confirm(by.showroom, uid, task_uid),
        was_so=choice == SO,
        text=reason,
        by=by,
        at=at,
    )
    if choice == SO:
        return _("Confirmed. It stands under the name that signed for it, and yours beside it.")
    return _("Taken back. The task is due again, and both lines stay readable.")
