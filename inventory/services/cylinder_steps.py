"""Which steps belong to work on a cylinder, and are they all ticked?"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta

from gallery_ops.kernel.errors import Refused

STEPS = (
    "alarm", "stamp", "close", "let_off", "unscrew", "washer", "screw_on", "open", "soap", "set",
    "hold", "mark", "weigh",
)  # fmt: skip
"""Every step of a change, in order; the words stand with the page."""
TAKE_DOWN = ("alarm", "close", "let_off", "unscrew", "cap")
PUT_UP = ("alarm", "stamp", "washer", "screw_on", "open", "soap", "set", "hold", "weigh")
LONGEST = timedelta(hours=12)
"""A step ticked longer ago than this belongs to other work."""


def check_ticks(steps: Mapping[str, datetime], wanted: tuple[str, ...], at: datetime) -> None:
    """Raise Refused unless every wanted step was ticked within the last twelve hours."""
    left = [step for step in wanted if step not in steps]
    if left:
        raise Refused(
            "steps_left",
            f"{len(left)} of {len(wanted)} steps are not ticked yet.",
            {f"step_{step}": "Not ticked yet." for step in left},
            "Do them in order; nothing is booked before all are done.",
        )
    for step in wanted:
        if not at - LONGEST <= steps[step] <= at:
            raise Refused(
                "step_time",
                "A step has a time that does not belong to this work.",
                {f"step_{step}": "Within the last twelve hours."},
                "Tick it again.",
            )


def check_soap(bubbles: bool | None) -> None:
    """Raise Refused unless somebody looked at the soapy water and saw no bubbles."""
    if bubbles is None:
        raise Refused(
            "soap_unsaid",
            "Soapy water: nobody said whether bubbles came.",
            {"bubbles": "None, or bubbles."},
        )
    if bubbles:
        raise Refused(
            "bubbles",
            "Bubbles came: it leaks, and it is not booked as done.",
            {"bubbles": "None."},
            "Shut the valve, let the pressure off until the gauge reads 0, new washer, screw on, "
            "test again. If it will not seal: valve shut, out into the open, ring the supplier.",
        )
