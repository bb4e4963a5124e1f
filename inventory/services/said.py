"""Who said it, when was it so, is it of this house? What every fact of stock and animals asks."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.facts import (
    Said,
    columns_of_taking_back,
    fact_columns,
    moment_of,
)
from gallery_ops.kernel.values.day import business_day

__all__ = [
    "Said",
    "columns_of_taking_back",
    "fact_columns",
    "local_day",
    "moment_of",
    "same_house",
]


def local_day(showroom: Showroom, moment: datetime) -> Any:
    """The business day of a moment in this showroom."""
    return business_day(moment, showroom.tz, showroom.cut_off_hour)


def same_house(showroom: Showroom, **things: Any) -> None:
    """Raise Unknown when one of these (or None) belongs to another showroom; keywords name them."""
    for what, thing in things.items():
        if thing is not None and thing.showroom_id != showroom.pk:
            raise Unknown(what.replace("_", " "))
