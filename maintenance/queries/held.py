"""Which entries wait for a person, and which were settled lately?"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Device, Showroom
from maintenance.models import Verdict

WAITING = ("held", "differs", "malformed")
LET_GO = ("noted", "refused")
"""A person decided that nothing counts; for a week the entry may be brought before them again."""
OPEN_AGAIN_FOR = timedelta(days=7)
TOLD_FOR = timedelta(days=14)
"""So long a tablet keeps what it sent, and hears what became of it."""
MOST_TOLD = 100


def waiting_entries(showroom: Showroom) -> QuerySet[Any]:
    """The verdicts that still ask for a person, with their actions, the oldest first."""
    return _newest(showroom, WAITING).order_by("action__entered_at", "action_id")


def count_waiting(showroom: Showroom) -> int:
    """How many entries wait for a person. One query."""
    return int(waiting_entries(showroom).count())


def settled_lately(showroom: Showroom, at: datetime) -> QuerySet[Any]:
    """The decisions of the last seven days, the newest first."""
    decided = Verdict.objects.of(showroom).filter(
        decided_by__isnull=False, at__gt=at - OPEN_AGAIN_FOR
    )
    later = Verdict.objects.filter(action=OuterRef("action"), pk__gt=OuterRef("pk"))
    rows: QuerySet[Any] = (
        decided.exclude(outcome__in=[*WAITING, "withdrawn"])
        .filter(~Exists(later))
        .select_related("action__person", "decided_by")
        .order_by("-at", "-pk")
    )
    return rows


def decided_for(device: Device | None, at: datetime) -> list[dict[str, Any]]:
    """What people decided in the last fortnight about entries of this tablet, as it reads them.

    The newest hundred, in one query; an entry that was opened again is ``held`` once more.
    """
    if device is None:
        return []
    later = Verdict.objects.filter(action=OuterRef("action"), pk__gt=OuterRef("pk"))
    rows = (
        Verdict.objects.of(device.showroom_id)
        .filter(action__device=device, decided_by__isnull=False, at__gt=at - TOLD_FOR)
        .filter(~Exists(later))
        .select_related("action", "decided_by")
        .order_by("-pk")[:MOST_TOLD]
    )
    return [
        {
            "action_id": str(row.action.action_id),
            "verdict": row.outcome,
            "words": decision_words(row),
            "at": row.at.isoformat(),
        }
        for row in rows
    ]


def decision_words(verdict: Verdict) -> str:
    """What became of an entry, in the words that manager and carer read alike."""
    what = str(verdict.get_outcome_display())
    who = verdict.decided_by.name if verdict.decided_by else ""
    if verdict.outcome == "refused":
        return _("%(what)s, said %(who)s: %(why)s") % {
            "what": what, "who": who, "why": verdict.sentence,
        }  # fmt: skip
    return _("%(what)s, said %(who)s") % {"what": what, "who": who}


def verdict_of(showroom: Showroom, uid: str, content: str) -> Verdict:
    """The verdict that counts of one entry, by its id and the beginning of its hash.

    content : empty for the version that came last

    Raises Unknown.
    """
    found: Verdict | None = (
        Verdict.objects.of(showroom)
        .filter(action__action_id=uid, action__sha256__startswith=content)
        .select_related("action__device", "action__person")
        .order_by("-pk")
        .first()
    )
    if found is None:
        raise Unknown("entry")
    return found


def _newest(showroom: Showroom, outcomes: tuple[str, ...]) -> QuerySet[Any]:
    later = Verdict.objects.filter(action=OuterRef("action"), pk__gt=OuterRef("pk"))
    rows: QuerySet[Any] = (
        Verdict.objects.of(showroom)
        .filter(outcome__in=outcomes)
        .filter(~Exists(later))
        .select_related("action__device", "action__person")
    )
    return rows
