"""How quickly was a round walked? Pure: moments in, seconds out."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median
from typing import Final

QUICK: Final = timedelta(seconds=10)
"""Half of the stops under this: nobody can have looked in the order of the eyes (common practice,
no source)."""
FEWEST: Final = 5
"""So many stops must follow one another before a median says anything (own choice)."""


def pace(looks: Iterable[tuple[datetime, str]]) -> tuple[timedelta, int] | None:
    """The median time from one stop's look to the next one's, and how many stops were told by it.

    looks : when a stop was found as it should be, and which; the first of each stop counts. The way
    between the stops is part of it, so that looking took less. None for too few to say.
    """
    first: dict[str, datetime] = {}
    for at, stop in sorted(looks):
        first.setdefault(stop, at)
    moments = sorted(first.values())
    gaps = [(after - before).total_seconds() for before, after in pairwise(moments)]
    if len(gaps) < FEWEST:
        return None
    return timedelta(seconds=median(gaps)), len(gaps)
