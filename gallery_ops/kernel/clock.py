"""What time is it? The only place that asks the machine.

Doors call ``now()`` once and pass the instant on as ``at``. With GALLERY_OPS_CLOCK=2026-03-12T08:08
the clock starts at that moment (UTC unless it names an offset) and runs on from there, for pictures
and tests; every process counts from its own start.
"""

from __future__ import annotations

import os
import time
from datetime import UTC, datetime, timedelta

VARIABLE = "GALLERY_OPS_CLOCK"

_started = time.monotonic()


def now() -> datetime:
    """The instant, in UTC and aware."""
    wanted = os.environ.get(VARIABLE, "")
    if not wanted:
        return datetime.now(UTC)
    return begin(wanted) + timedelta(seconds=time.monotonic() - _started)


def ticks_s() -> float:
    """Seconds of a clock that only runs forward, to measure waits within one process [s]."""
    return time.monotonic()


def is_moved() -> bool:
    """Whether the clock was set by the environment."""
    return bool(os.environ.get(VARIABLE, ""))


def begin(text: str) -> datetime:
    """The moment in the text. Raises ValueError with words."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise ValueError(
            f"{VARIABLE} is {text!r}; write a moment such as 2026-03-12T08:08, or leave it empty."
        ) from None
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
