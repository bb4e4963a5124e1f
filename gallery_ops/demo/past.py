"""What the program would have said in the weeks before, so that it can be held against the truth.

Each projection knows what was known on its day and nothing later.
"""

from __future__ import annotations

from datetime import time

from gallery_ops.demo.house import House
from gallery_ops.demo.stock import HISTORY_DAYS
from inventory.services.forecasts import refresh_items
from inventory.services.scores import score_due

EVERY_DAYS = 7
FIRST_AFTER_DAYS = 7


def look_back(house: House) -> None:
    """A projection of everything each week, and those that have met their truth scored."""
    for days_ago in range(HISTORY_DAYS - FIRST_AFTER_DAYS, 0, -EVERY_DAYS):
        at = house.at(days_ago, time(20))
        refresh_items(showroom=house.showroom, at=at, item_ids=None)
    score_due(showroom=house.showroom, at=house.at(0, time(house.showroom.cut_off_hour)))
