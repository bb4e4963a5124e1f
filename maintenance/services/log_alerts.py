"""Did a tablet send the same entry twice with different content? A defect or tampering: tell it.

Both versions are kept. The alert stands until a person has decided (a further verdict) or until the
entry is two weeks old, when the tablet has forgotten it too.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db.models import OuterRef, Subquery
from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from maintenance.models import Action, Verdict

KIND = "two_versions"
KEPT = timedelta(days=14)


def review(showroom: Showroom, at: datetime) -> None:
    """Make the open alerts about entries in two versions what the log says."""
    newest = Verdict.objects.filter(action=OuterRef("pk")).order_by("-pk").values("outcome")[:1]
    rows = (
        Action.objects.of(showroom)
        .filter(entered_at__gt=at - KEPT)
        .annotate(outcome=Subquery(newest))
        .filter(outcome="differs")
        .select_related("device", "person")
        .order_by("pk")
    )
    wanted = {}
    for row in rows:
        tablet = row.device.name if row.device else _("a desk")
        wanted[str(row.pk)] = Wanted(
            harm_class="B",
            subject_kind="action",
            subject_key=str(row.action_id),
            sentence=_(
                "%(tablet)s sent one entry in two versions. Both are kept: ask who was there."
            )
            % {"tablet": tablet},
            because=[
                {
                    "what": "two_versions",
                    "kind": row.kind,
                    "by": row.person.given_name if row.person else "",
                    "at": row.entered_at,
                }
            ],
        )
    sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)
