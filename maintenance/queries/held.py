"""Which entries wait for a person, and which were settled lately?"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from maintenance.models import Verdict

WAITING = ("held", "differs", "malformed")
LET_GO = ("noted", "refused")
"""A person decided that nothing counts; for a week the entry may be brought before them again."""
OPEN_AGAIN_FOR = timedelta(days=7)


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
