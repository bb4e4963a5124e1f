"""The work that looks at the water after a reading, and at photos that came half; it may run twice
or late."""

from __future__ import annotations

from datetime import datetime

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.register import job
from tanks.services import gas_alerts, interlock_alerts, photo_parts, reading_alerts, water_alerts


@job("water", every_s=3600)
def water(showroom: Showroom, subject: str, at: datetime) -> None:  # noqa: ARG001  one review
    """Open and close the alerts on readings, drift, ammonia, gas and equipment."""
    reading_alerts.review(showroom=showroom, at=at)
    water_alerts.review(showroom=showroom, at=at)
    interlock_alerts.review(showroom=showroom, at=at)
    gas_alerts.review(showroom=showroom, at=at)


@job("photo_parts", every_s=86_400)
def photo_parts_left(showroom: Showroom, subject: str, at: datetime) -> None:  # noqa: ARG001
    """Throw away pieces of photos that nobody goes on with."""
    photo_parts.tidy_parts(showroom=showroom, at=at)
