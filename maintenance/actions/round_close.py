"""A round is over; stops left open have a reason."""

from __future__ import annotations

from gallery_ops.kernel.errors import Held
from maintenance.actions.context import Said
from maintenance.models import Stop
from maintenance.services.rounds import close_round


def apply(said: Said) -> None:
    """Close it."""
    round_ = said.round_or_none()
    if round_ is None:
        raise Held("unknown", "There is no such round here.")
    reasons = {entry["stop"]: entry["reason"] or "" for entry in said.body["left_open"]}
    stops = Stop.objects.filter(round=round_)
    close_round(
        round_=round_,
        by=said.by,
        at=said.done_at_corrected,
        left_open={s.pk: reasons[str(s.uid)] for s in stops if str(s.uid) in reasons},
    )
