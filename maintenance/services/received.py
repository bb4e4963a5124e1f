"""How far has this device been heard? The contiguous count, the gaps, and its clock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction

from gallery_ops.kernel.models import Device
from maintenance.models import Action
from maintenance.queries.restored import gaps_above


@dataclass(frozen=True, slots=True)
class Received:
    """Every seq up to ``up_to`` is kept; ``missing`` are the gaps above it."""

    up_to: int
    missing: tuple[int, ...]


def receive(
    *,
    device: Device | None,
    seqs: Sequence[int],
    offset: timedelta,
    at: datetime,
    nothing_waits_in: UUID | None = None,
) -> Received:
    """Note what came from a device and how far its clock is off.

    A desk has no device and no count: everything it sent was heard.

    nothing_waits_in : the database of which the device says that nothing waits for it
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
        row.offered_epoch = nothing_waits_in or row.offered_epoch
        row.save(update_fields=["last_seq", "seen_at", "clock_offset_ms", "offered_epoch"])
    return Received(up_to, gaps_above(up_to, rest))
