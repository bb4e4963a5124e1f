"""Somebody has read a line that was handed over; its person is that somebody."""

from __future__ import annotations

from uuid import UUID

from gallery_ops.kernel.errors import Held
from maintenance.actions.context import Said
from maintenance.models import HandoverLine
from maintenance.services.handover import read_line

NOT_HERE = "line_not_here"


def apply(said: Said) -> None:
    """Write it down; where the line has not come yet it waits for it."""
    line = (
        HandoverLine.objects.of(said.showroom)
        .filter(action_id=UUID(said.body["line"]), takes_back=False)
        .select_related("showroom")
        .first()
    )
    if line is None:
        raise Held(
            NOT_HERE,
            "The line that was read has not arrived here.",
            remedy="It is kept, and counts by itself as soon as the line is here.",
        )
    read_line(line=line, **said.moments())
