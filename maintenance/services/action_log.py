"""The raw action, kept in the transaction of its effects; and what became of it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import IntegrityError, transaction

from gallery_ops.kernel.models import Device, Person, Showroom
from gallery_ops.kernel.services.alone import alone
from maintenance.models import Action, Verdict


@dataclass(frozen=True, slots=True)
class Kept:
    """An action in the log: was it new, known with the same content, or known with another?"""

    row: Action
    outcome: str


def keep(
    *,
    showroom: Showroom,
    action_id: UUID,
    kind: str,
    canonical: str,
    sha256: str,
    at: datetime,
    device: Device | None = None,
    person: Person | None = None,
    seq: int | None = None,
    round_code: str = "",
    stop_key: str = "",
    done_at: datetime | None = None,
    done_at_corrected: datetime | None = None,
    offset_ms: int = 0,
) -> Kept:
    """Write the action down before anything follows from it.

    The same id with the same content is ``known``; with other content both are kept and the second
    is ``differs``, also when both arrive at the same moment.
    """
    alone(f"action {showroom.pk} {action_id}")
    known = list(Action.objects.of(showroom).filter(action_id=action_id).order_by("pk"))
    for row in known:
        if row.sha256 == sha256:
            return Kept(row, "known" if row.pk == known[0].pk else "differs")
    try:
        with transaction.atomic():
            row = Action.objects.create(
                showroom=showroom,
                action_id=action_id,
                device=device,
                seq=seq,
                kind=kind,
                person=person,
                round_code=round_code,
                stop_key=stop_key,
                done_at=done_at,
                done_at_corrected=done_at_corrected,
                offset_ms=offset_ms,
                entered_at=at,
                canonical=canonical,
                sha256=sha256,
            )
    except IntegrityError:  # the same action in another request, which was first by a hair
        same = Action.objects.of(showroom).filter(action_id=action_id, sha256=sha256).first()
        if same is None:
            raise
        return Kept(same, "known")
    return Kept(row, "differs" if known else "new")


def say(
    *,
    action: Action,
    outcome: str,
    at: datetime,
    code: str = "",
    sentence: str = "",
    remedy: str = "",
    decided_by: Person | None = None,
) -> Verdict:
    """What became of it; the newest verdict counts."""
    return Verdict.objects.create(
        showroom=action.showroom,
        action=action,
        at=at,
        outcome=outcome,
        code=code[:40],
        sentence=sentence[:400],
        remedy=remedy[:400],
        decided_by=decided_by,
    )


def last_verdict(action: Action) -> Verdict | None:
    """The verdict that counts."""
    found: Verdict | None = action.verdicts.order_by("-pk").first()
    return found


def digest(canonical: str) -> str:
    """SHA-256 of the canonical text, in hexadecimal."""
    return hashlib.sha256(canonical.encode()).hexdigest()
