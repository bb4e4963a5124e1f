"""A backup was put back: which tablets have not offered again what they did since?

One alert stands until every tablet has said that nothing waits and no number is missing, or until
the tablets have forgotten it too.
"""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import ngettext

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from maintenance.queries.restored import restored, tablets_after

KIND = "restored"


def review(showroom: Showroom, at: datetime) -> None:
    """Open, bring up to date or close the alert."""
    back = restored(showroom, at)
    open_ones = [one for one in tablets_after(showroom, back) if not one.is_whole] if back else []
    wanted = {}
    if back and open_ones:
        wanted[str(back.epoch)] = Wanted(
            harm_class="B",
            subject_kind="showroom",
            subject_key=showroom.code,
            sentence=ngettext(
                "A backup was put back, and one tablet has not offered all that it did since: "
                "%(names)s. Bring it near the network.",
                "A backup was put back, and %(n)d tablets have not offered all that they did "
                "since: %(names)s. Bring them near the network.",
                len(open_ones),
            )
            % {"n": len(open_ones), "names": ", ".join(one.name for one in open_ones[:4])},
            because=[
                {
                    "what": "tablet_after",
                    "name": one.name,
                    "state": one.state,
                    "missing": one.ranges[:80],
                    "seen_at": one.seen_at,
                }
                for one in open_ones[:40]
            ],
        )
    sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)
