"""What the worker does for stock: project it, ask for orders, look for what is wrong."""

from __future__ import annotations

from datetime import datetime

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.register import job
from inventory.services import forecasts, reordering, watching


@job("forecast", every_s=3600)
def forecast(showroom: Showroom, subject: str, at: datetime) -> None:
    """Project one stock, or all of a showroom."""
    forecasts.refresh(showroom=showroom, at=at, subject=subject)


@job("reorder", every_s=900)
def reorder(showroom: Showroom, subject: str, at: datetime) -> None:  # noqa: ARG001  one review
    """Open and close reorder alerts."""
    reordering.review(showroom=showroom, at=at)


@job("watch", every_s=900)
def watch(showroom: Showroom, subject: str, at: datetime) -> None:  # noqa: ARG001  one review
    """Open and close alerts on gas, presses and age."""
    watching.review(showroom=showroom, at=at)
