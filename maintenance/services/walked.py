"""A round that was walked and found as it should be, told in one sentence."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.db.models import F, Q

from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from maintenance.models import DueTask, Round
from maintenance.services.completions import Claim, complete_all


@transaction.atomic
def complete_walked(*, round_: Round, by: Membership, at: datetime) -> int:
    """Complete every open task of a round at once; gives how many. A second time changes nothing.

    Raises Held ``wrong_skill`` as for a single one.
    """
    showroom = round_.showroom
    require(by, "record", in_=showroom)
    stops = Q(tank__in=round_.stops.values("tank")) | Q(room__in=round_.stops.values("room"))
    rows = list(
        DueTask.objects.of(showroom)
        .select_for_update(of=("self",))
        .filter(stops, due_on=round_.business_on, template__round_kind=round_.kind, state="open")
        .select_related("template", "showroom")
        .order_by(F("tank").asc(nulls_last=True), "room", "template__key")
    )
    return complete_all(Claim(row, by, at) for row in rows)
