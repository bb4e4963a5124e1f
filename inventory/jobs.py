"""What the worker does for stock: project it, ask for orders, look for what is wrong."""

from __future__ import annotations

from datetime import datetime

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.register import job
from gallery_ops.kernel.services.alerts import Synced
from gallery_ops.kernel.services.work import answering_parts, want_work
from inventory.queries.suppliers import sold_by
from inventory.services import (
    forecasts,
    one_line,
    reordering,
    scores,
    start_up,
    stock_lines,
    variances,
    watching,
)


@job("forecast", every_s=3600)
def forecast(showroom: Showroom, subject: str, at: datetime) -> None:
    """Project one stock and conclude its lines of the stock page; without a subject, what is due.

    That is everything once a night, and what a supplier's last hour for orders has touched.
    """
    if not subject and forecasts.whole_is_due(showroom, at):
        with answering_parts(showroom, "forecast", at=at) as moment:
            forecasts.refresh(showroom=showroom, at=moment)
            stock_lines.refresh(showroom=showroom, at=moment)
        return
    if not subject:
        forecasts.refresh_due(showroom=showroom, at=at)
        stock_lines.refresh(showroom=showroom, at=at)
        return
    forecasts.refresh(showroom=showroom, at=at, subject=subject)
    if not one_line.refresh_one(showroom=showroom, at=at, subject=subject):
        stock_lines.refresh(showroom=showroom, at=at, subject=subject)


@job("start_up", every_s=3600)
def steps_held(showroom: Showroom, subject: str, at: datetime) -> None:  # noqa: ARG001
    """Keep steps of a start-up that nobody has accepted from beginning by themselves."""
    start_up.hold_ramps(showroom=showroom, at=at)


@job("supplier")
def supplier(showroom: Showroom, subject: str, at: datetime) -> None:
    """Project again all that a supplier sells: their days or their times were changed."""
    item_ids = sold_by(showroom, subject)
    if item_ids:
        forecasts.refresh_items(showroom=showroom, at=at, item_ids=item_ids)
        stock_lines.refresh_items(showroom=showroom, at=at, item_ids=item_ids)


@job("reorder", every_s=900)
def reorder(showroom: Showroom, subject: str, at: datetime) -> None:  # noqa: ARG001  one review
    """Open and close reorder alerts."""
    _lines_after(showroom, at, reordering.review(showroom=showroom, at=at))


@job("watch", every_s=900)
def watch(showroom: Showroom, subject: str, at: datetime) -> None:  # noqa: ARG001  one review
    """Open and close alerts on gas, presses and age; then ask why of what they do not explain."""
    found = {**watching.review(showroom=showroom, at=at)}
    found |= variances.review(showroom=showroom, at=at)
    _lines_after(showroom, at, *found.values())


@job("scores", every_s=86_400)
def scored(showroom: Showroom, subject: str, at: datetime) -> None:  # noqa: ARG001  one review
    """Hold projections against what happened since."""
    scores.score_due(showroom=showroom, at=at)


@job("stock_lines", every_s=3600)
def lines(showroom: Showroom, subject: str, at: datetime) -> None:
    """Conclude the lines of the stock page."""
    stock_lines.refresh(showroom=showroom, at=at, subject=subject)


def _lines_after(showroom: Showroom, at: datetime, *changes: Synced) -> None:
    """What is asked of a person changed: so do the lines and their order."""
    if any(one.opened or one.closed for one in changes):
        want_work(showroom, "stock_lines", at=at)
