"""What may have happened beside the plan, and how large it usually is.

Prior weights and sizes are assumptions of this program, in units of the stock itself: its usable
content and its use a day.
"""

from __future__ import annotations

import numpy as np

from inventory.forecast.days import Days
from inventory.forecast.prior import UNTICKED_DONE
from inventory.forecast.stocks import KINDS
from inventory.forecast.types import Name

NAMES: tuple[Name, ...] = (
    "none", "steady_loss", "sudden_loss", "wrong_reading", "unbooked_gain", "booked_late",
)  # fmt: skip
NOTHING, STEADY, SUDDEN, MISREAD, GAIN, LATE = range(6)

MISREAD_TIMES = 400.0
"""The variance of a reading that is not believed, relative to its own."""
PART_DAY_SD = 0.29
"""Sd of the share of an interval after an unknown moment in it (uniform, 1/sqrt(12))."""
RATE_MEAN, RATE_SD = 0.9, 0.5
"""A steady loss relative to the use a day."""
PART_RATE = 0.8
"""Loss relative to the use a day when its beginning within an interval is not known."""
LOSS_SHARE, GAIN_SHARE = 0.25, 0.35
"""What goes or comes at once, relative to the usable content; mean and sd alike."""
PER_DAY_LOSS, PER_DAY_GAIN = 1 / 1500, 1 / 3000
"""Prior chance per day of an interval."""
PER_DAY_LEAK = np.where([kind == "cylinder" for kind in KINDS], 1 / 500, 1 / 1500)
"""By number of the kind: gas under pressure finds a way out sooner than a liquid in a bottle."""
MISREAD_CHANCE, LATE_CHANCE = 1 / 200, 0.03
USE_DAYS = 30
LONG_LASTING_DAYS = 400


def usual_use(days: Days, usable: float) -> float:
    """Planned use a day lately; where nothing was planned, as of a stock that lasts for long."""
    lately = slice(-USE_DAYS, None)
    planned = days.done[:, lately].sum() + UNTICKED_DONE * days.unticked[:, lately].sum()
    return max(float(planned) / max(1, min(USE_DAYS, days.past)), usable / LONG_LASTING_DAYS)
