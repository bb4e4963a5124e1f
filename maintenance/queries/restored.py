"""Was a backup put back lately, and what have the tablets told since?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import F, Max

from gallery_ops.kernel.models import Device, Epoch, Showroom
from maintenance.models import Action

LOOKED_AT_FOR = timedelta(days=14)
"""So long a tablet keeps what it sent."""
MOST_GAPS = 500


@dataclass(frozen=True, slots=True)
class Restored:
    """When it was put back, and the last that it held of a tablet and of a desk."""

    epoch: UUID
    at: datetime
    last_of_tablet_at: datetime | None
    last_of_desk_at: datetime | None


@dataclass(frozen=True, slots=True)
class TabletAfter:
    """One tablet since then. ``state`` is ``whole``, ``gaps``, ``sending`` or ``not_heard``."""

    name: str
    state: str
    seen_at: datetime | None
    back_again: int
    missing: tuple[int, ...]

    @property
    def is_whole(self) -> bool:
        """It has said that nothing waits, and no number is missing."""
        return self.state == "whole"

    @property
    def ranges(self) -> str:
        """The missing numbers: ``4, 7 to 9``."""
        out: list[str] = []
        begin = last = None
        for seq in [*self.missing, None]:
            if last is not None and seq != last + 1:
                out.append(str(last) if begin == last else f"{begin} to {last}")
                begin = seq
            begin, last = (seq if begin is None else begin), seq
        return ", ".join(out)


def restored(showroom: Showroom, at: datetime) -> Restored | None:
    """The last return of a backup, if it is not longer ago than tablets remember. Three queries."""
    epochs = list(Epoch.objects.order_by("-pk")[:2])
    if len(epochs) < 2 or epochs[0].since_at <= at - LOOKED_AT_FOR:
        return None
    since = epochs[0].since_at
    held = Action.objects.of(showroom).filter(entered_at__lt=since)
    of_tablet = held.exclude(device=None).aggregate(at=Max("entered_at"))["at"]
    of_desk = held.filter(device=None).aggregate(at=Max("entered_at"))["at"]
    return Restored(epochs[0].token, since, of_tablet, of_desk)


def tablets_after(showroom: Showroom, back: Restored) -> list[TabletAfter]:
    """Every tablet that was in service then, those that are not whole first. Three queries."""
    devices = list(
        Device.objects.of(showroom)
        .filter(enrolled_at__lt=back.at, revoked_at=None)
        .order_by("name", "pk")
    )
    above: dict[int, list[int]] = {}
    again: dict[int, int] = {}
    rows = Action.objects.of(showroom).filter(device__in=devices)
    for device_id, seq in rows.filter(seq__gt=F("device__last_seq")).values_list(
        "device_id", "seq"
    ):
        above.setdefault(device_id, []).append(seq)
    for device_id in rows.filter(entered_at__gte=back.at).values_list("device_id", flat=True):
        again[device_id] = again.get(device_id, 0) + 1
    found = []
    for device in devices:
        missing = gaps_above(device.last_seq, above.get(device.pk, []))
        heard = device.seen_at is not None and device.seen_at >= back.at
        state = "not_heard"
        if heard:
            said_all = device.offered_epoch == back.epoch
            state = ("gaps" if missing else "whole") if said_all else "sending"
        found.append(
            TabletAfter(device.name, state, device.seen_at, again.get(device.pk, 0), missing)
        )
    return sorted(found, key=lambda one: one.is_whole)


def gaps_above(up_to: int, above: Sequence[int]) -> tuple[int, ...]:
    """Numbers that are missing between ``up_to`` and the highest that is there."""
    gaps: list[int] = []
    have = set(above)
    for seq in range(up_to + 1, max(above, default=up_to)):
        if seq not in have:
            gaps.append(seq)
        if len(gaps) == MOST_GAPS:
            break
    return tuple(gaps)
