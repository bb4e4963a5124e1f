"""After a backup was put back: which tablets have offered again what they did, and what is missing?

A tablet keeps what it sent for fourteen days and offers it again when it hears of another database.
What was entered at a desk between the backup and its return is on no tablet.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from gallery_ops.kernel.models import Showroom
from maintenance.queries.restored import Restored, TabletAfter, restored, tablets_after

__all__ = ["GapReport", "gap_report"]


@dataclass(frozen=True, slots=True)
class GapReport:
    """The return of the backup, and each tablet since."""

    back: Restored
    tablets: list[TabletAfter]

    @property
    def open_count(self) -> int:
        """Tablets that have not offered everything, or of which numbers are missing."""
        return sum(not one.is_whole for one in self.tablets)


def gap_report(showroom: Showroom, at: datetime) -> GapReport | None:
    """The report, for a fortnight after a backup was put back; else None."""
    back = restored(showroom, at)
    return GapReport(back, tablets_after(showroom, back)) if back else None
