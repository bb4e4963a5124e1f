"""How far has this device been heard? The contiguous count, the gaps, and its clock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction

from gallery_ops.kernel.models import Device
from maintenance.models import Action

MOST_GAPS = 500


@dataclass(frozen=True, slots=True)
class Received:
    """Every seq up to ``up_to`` is kept; ``missing`` are the gaps above it."""

    up_to: int
    missing: tuple[int, ...]


def receive(
    *, device: Device | None, seqs: Sequence[int], offset: timedelta, at: datetime
) -> Received:
    """Note what came from a device and how far its clock is off.

    A desk has no device and no count: everything it sent was heard.
    """
    if device is None:
        return Received(max(seqs, default=0), ())
    with transaction.atomic():
        row = Device.objects.select_for_update().get(pk=device.pk)
        above = sorted(
            set(
                Action.objects.filter(device=row, seq__gt=row.last_seq)
                .order_by("seq")
                .values_list("seq", flat=True)
            )
        )
        up_to = row.last_seq
        rest: list[int] = []
        for seq in above:
            if seq == up_to + 1:
                up_to = seq
            else:
                rest.append(seq)
        row.last_seq = up_to
        row.seen_at = at
        row.clock_offset_ms = int(offset / timedelta(milliseconds=1))
        row.save(update_fields=["last_seq", "seen_at", "clock_offset_ms"])
    gaps: list[int] = []
    have = set(rest)
    for seq in range(up_to + 1, max(rest, default=up_to)):
        if seq not in have:
            gaps.append(seq)
        if len(gaps) == MOST_GAPS:
            break
    return Received(up_to, tuple(gaps))
