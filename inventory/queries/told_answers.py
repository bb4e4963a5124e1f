"""How are weighed presses told to the forecast, and what a person found out about a stock?"""

from __future__ import annotations

from datetime import timedelta

from inventory.forecast.types import Answer, Calibration, Name
from inventory.models import Container, WhatWasFound
from inventory.queries.measured_facts import Found, Pressed
from inventory.queries.stock_facts import StockFacts

CUP_SD_MG = 424.0
"""Presses are weighed as a difference of two weighings, each to 0.3 g (own assumption)."""
PRESS_SD = 0.03
"""One press differs from the next by so much of itself (own assumption)."""
ANSWERS: dict[str, Name] = {
    WhatWasFound.ALL_RIGHT: "none",
    WhatWasFound.LEAK: "steady_loss",
    WhatWasFound.SPILLED: "sudden_loss",
    WhatWasFound.WRONG_READING: "wrong_reading",
    WhatWasFound.REFILLED: "unbooked_gain",
    WhatWasFound.BOOKED_LATE: "booked_late",
    WhatWasFound.WRONG_PRESS: "none",
    WhatWasFound.UNKNOWN: "none",
}
"""What a person found -> what the projection takes as given for those days."""


def calibration_of(facts: StockFacts, container: Container) -> tuple[Calibration, ...]:
    """The last weighing of presses: what one gives beside what the instruction says of it."""
    pressed, nominal = facts.pressed.get(container.pk), container.press_nominal_ul
    if not pressed or not nominal:
        return ()
    last = pressed[-1]
    factor = last.ul_per_press / nominal
    return (Calibration(last.day, factor, factor * _press_sd(last)),)


def _press_sd(pressed: Pressed) -> float:
    of_scale = CUP_SD_MG / pressed.mass_mg if pressed.mass_mg else PRESS_SD
    return float((of_scale**2 + PRESS_SD**2 / max(1, pressed.presses)) ** 0.5)


def answer_of(found: Found) -> Answer:
    """A steady loss began on its first day; what happened once lies anywhere within its days."""
    name, last = ANSWERS[found.what], None
    if found.end is not None:
        last = found.end - timedelta(days=1)
    if name == "steady_loss":
        return Answer(name, found.start, found.start, stopped_on=last)
    return Answer(name, found.start, last or found.start)
