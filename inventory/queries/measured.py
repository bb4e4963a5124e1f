"""When was each container last weighed, counted or looked at? Three queries for all of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Max, Q

from gallery_ops.kernel.models import Showroom
from inventory.models import EyeCount, Movement, MovementKind, Weighing

SEEN_BEFORE = "entered after a measurement that had seen it"
"""Reason of a movement that keeps true what a later measurement had said; it is no measurement."""


@dataclass(frozen=True, slots=True)
class LastMeasured:
    """Last moments before and from a given instant on; ``by_eye`` the same for the eye alone."""

    before: datetime | None = None
    since: datetime | None = None
    by_eye_before: datetime | None = None
    by_eye_since: datetime | None = None

    def before_for(self, count_class: str) -> datetime | None:
        """By eye is enough for class C, never for A and B (common practice, no source)."""
        return _latest(self.before, self.by_eye_before if count_class == "C" else None)

    def since_for(self, count_class: str) -> datetime | None:
        """The same from that instant on."""
        return _latest(self.since, self.by_eye_since if count_class == "C" else None)


def last_measured(
    showroom: Showroom, *, split: datetime, until: datetime
) -> dict[int, LastMeasured]:
    """By container id: when it was measured before ``split``, and from it up to ``until``.

    Three queries. Containers that nobody ever measured are left out.
    """
    found: dict[int, dict[str, datetime | None]] = {}
    weighed = Weighing.objects.of(showroom).standing()
    counted = (
        Movement.objects.of(showroom)
        .standing()
        .filter(kind=MovementKind.COUNT, weighing=None, container__isnull=False)
        .exclude(reason=SEEN_BEFORE)
    )
    seen = EyeCount.objects.of(showroom).standing().filter(counts=True)
    for rows, names in (
        (weighed, ("before", "since")),
        (counted, ("before", "since")),
        (seen, ("by_eye_before", "by_eye_since")),
    ):
        for container_id, *moments in _split(rows, split, until):
            kept = found.setdefault(container_id, {})
            for name, moment in zip(names, moments, strict=True):
                kept[name] = _latest(kept.get(name), moment)
    return {container_id: LastMeasured(**kept) for container_id, kept in found.items()}


def _split(rows: Any, split: datetime, until: datetime) -> Iterable[Any]:
    grouped: Iterable[Any] = (
        rows.filter(done_at_corrected__lte=until)
        .values("container_id")
        .annotate(
            before=Max("done_at_corrected", filter=Q(done_at_corrected__lt=split)),
            since=Max("done_at_corrected", filter=Q(done_at_corrected__gte=split)),
        )
        .order_by("container_id")
        .values_list("container_id", "before", "since")
    )
    return grouped


def _latest(one: datetime | None, other: datetime | None) -> datetime | None:
    if one is None or other is None:
        return one or other
    return max(one, other)
