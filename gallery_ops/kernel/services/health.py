"""Notes that a process of the program was seen alive."""

from __future__ import annotations

from datetime import datetime

from gallery_ops.kernel.models import Heartbeat


def note_alive(*, kind: str, at: datetime, planned_at: datetime | None = None) -> None:
    """The process of this kind lived at this instant; an older note never replaces a newer one."""
    values: dict[str, datetime] = {"seen_at": at}
    if planned_at is not None:
        values["planned_at"] = planned_at
    if Heartbeat.objects.filter(kind=kind, seen_at__lt=at).update(**values):
        return
    Heartbeat.objects.bulk_create(
        [Heartbeat(kind=kind, seen_at=at, planned_at=planned_at)], ignore_conflicts=True
    )
