"""Somebody begins a round."""

from __future__ import annotations

from gallery_ops.kernel.errors import Held
from maintenance.actions.context import Said
from maintenance.services.rounds import begin_round


def apply(said: Said) -> None:
    """The first who begins it is its person."""
    round_ = said.round_or_none()
    if round_ is None:
        raise Held("unknown", "There is no such round here.")
    begin_round(round_=round_, by=said.by, at=said.done_at_corrected)
