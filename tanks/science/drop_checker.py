"""What does the colour of a drop checker tell, and when; and how far does pH swing with the gas?

The fluid follows the water by one to two hours, so a word counts from some time after the lamps
went on, while they shine: blue then is too little gas, and blue at any other time is right. Yellow
is too much at any hour. All figures: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from tanks.science.interlocks import Hours

TOO_LITTLE = "blue"
USUAL_LIGHT_H = 8.0
"""How long the lamps shine where nobody wrote it down [h]. Common practice, no source."""
A_DAY = timedelta(days=1)


def lit_h(clock_h: float, light: Hours) -> float | None:
    """How long the lamps have shone at this hour of the day [h]; None while they are off.

    >>> lit_h(12.5, Hours(10, 18)), lit_h(9, Hours(10, 18)), lit_h(1, Hours(22, 6))
    (2.5, None, 3)
    """
    since = (clock_h - light.on_h) % 24
    return since if since < light.long_h else None


def shows_too_little(word: str, shone_h: float | None, after_h: float) -> bool:
    """Is this word one of too little gas? Only in the light, from ``after_h`` [h] on.

    >>> shows_too_little("blue", 2, 2), shows_too_little("blue", 1.9, 2)
    (True, False)
    """
    return word == TOO_LITTLE and counts(shone_h, after_h)


def counts(shone_h: float | None, after_h: float) -> bool:
    """Does a word tell anything of the gas of this light?"""
    return shone_h is not None and shone_h >= after_h


@dataclass(frozen=True, slots=True)
class PhAt:
    """A pH, when it was read, in the light or before it, and how it was measured."""

    at: datetime
    ph: float
    is_lit: bool
    method: str = ""


@dataclass(frozen=True, slots=True)
class Swing:
    """The newest pH in the dark and in the light that belong together, and how far they differ."""

    dark: PhAt
    lit: PhAt

    @property
    def size(self) -> float:
        """How far apart [pH]; rounded as a pH is read, so that 1.4 is not more than 1.4."""
        return round(abs(self.dark.ph - self.lit.ph), 2)


def swing(reads: Sequence[PhAt]) -> Swing | None:
    """The swing of the last day on which both were read by one method; None where there is none.

    reads : oldest first
    """
    for lit in reversed(reads):
        if not lit.is_lit:
            continue
        for dark in reversed(reads):
            is_of_the_day = abs(dark.at - lit.at) < A_DAY
            if not dark.is_lit and is_of_the_day and dark.method == lit.method:
                return Swing(dark, lit)
    return None
