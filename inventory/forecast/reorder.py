"""At what stock must it be ordered, by the textbook?

The normal approximation that a page shows as a reason. The order-by date itself comes from the
run-out distribution (:mod:`inventory.forecast.delivery`), which knows ramps, closures and the range
of use.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, stdev

from gallery_ops.kernel.values.limits import OutOfRange

Z_95 = 1.645
REVIEW_DAYS = 7
"""How often somebody looks at the list (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class ReorderPoint:
    """Order when stock on hand and on order falls to ``point``; ``safety`` of it is for bad
    luck.
    """

    point: float
    safety: float


def reorder_point(
    use_per_day: float,
    use_sd: float,
    lead_days: float,
    lead_sd: float,
    review_days: float = REVIEW_DAYS,
    z: float = Z_95,
) -> ReorderPoint:
    """Reorder point with periodic review, use and lead time varying independently.

    use_per_day, use_sd : mean and sd of a day's use, >= 0, in the unit of the item
    lead_days, lead_sd : order to receipt, >= 0 [days]
    review_days : between two looks, >= 0 [days]
    z : standard normal quantile of the wanted certainty, 1.645 for 95 %
    Returns point and safety stock in the unit of use. Raises OutOfRange for a negative value.
    Source: standard inventory theory (safety stock = z sqrt(T s_d^2 + d^2 s_L^2), T = lead +
    review).

    >>> round(reorder_point(196, 15, 7, 3, 7).point, 2)
    3715.66
    """
    given = {
        "use_per_day": use_per_day,
        "use_sd": use_sd,
        "lead_days": lead_days,
        "lead_sd": lead_sd,
        "review_days": review_days,
    }
    for name, value in given.items():
        if value < 0:
            raise OutOfRange(name, "0 or more", str(value), "Give a value that is not negative.")
    covered = lead_days + review_days
    safety = z * sqrt(covered * use_sd**2 + use_per_day**2 * lead_sd**2)
    return ReorderPoint(use_per_day * covered + safety, safety)


def lead_spread(stated_days: float, past_days: Sequence[float]) -> tuple[float, float]:
    """Mean and sd of the lead time [days]: seen if there are three receipts, else stated and 30 %.

    The 30 % are an assumption (own, no source).
    """
    if len(past_days) >= 3:
        return fmean(past_days), stdev(past_days)
    return stated_days, 0.3 * stated_days
