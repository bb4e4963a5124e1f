"""The list of a cylinder change: every step in our words, and which are ticked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.translation import gettext_lazy

from inventory.services.cylinder_steps import STEPS

STEP_WORDS: Mapping[str, tuple[Any, Any]] = {
    "alarm": (
        gettext_lazy("Read the room alarm"),
        gettext_lazy(
            "Above 5,000 ppm, ringing or a headache: out, everybody. Somebody else knows "
            "that you do this."
        ),
    ),
    "stamp": (
        gettext_lazy("Read serial, tare and test stamp of the new one"),
        gettext_lazy(
            "Out of test, dented, rusted through or without a stamp: it goes back, unused."
        ),
    ),
    "close": (
        gettext_lazy("Shut the valve of the old one; weigh it"),
        gettext_lazy("Hand-tight, clockwise. Write its gross down below."),
    ),
    "let_off": (
        gettext_lazy("Let the pressure off through the tank"),
        gettext_lazy("Solenoid valve open until both gauges read 0, then close the needle valve."),
    ),
    "unscrew": (
        gettext_lazy("Eye protection on; unscrew slowly"),
        gettext_lazy(
            "Outlet away from you and from others. A hiss that goes on: stop, screw back, "
            "begin again."
        ),
    ),
    "washer": (
        gettext_lazy("New washer, clean thread"),
        gettext_lazy("An old washer leaks. No grease, no tape on this thread."),
    ),
    "screw_on": (
        gettext_lazy("Screw the regulator on"),
        gettext_lazy(
            "By hand to the stop, then with the spanner until it is tight; not with force."
        ),
    ),
    "open": (
        gettext_lazy("Open the valve slowly"),
        gettext_lazy("A quarter turn, standing aside; then fully, and a quarter back."),
    ),
    "soap": (
        gettext_lazy("Soapy water on washer, needle valve, solenoid valve, tubing"),
        gettext_lazy("Look for a minute. Any bubble is a leak."),
    ),
    "set": (
        gettext_lazy("Working pressure 1 to 3 bar, needle to the old bubble count"),
        gettext_lazy("Begin lower than before. The animals are watched for two hours."),
    ),
    "hold": (
        gettext_lazy("Chain or strap it, upright"),
        gettext_lazy("It must not fall when somebody leans on it."),
    ),
    "cap": (
        gettext_lazy("Cap on; carry it upright"),
        gettext_lazy("Valve shut. From 5 kg on two people and the trolley."),
    ),
    "mark": (
        gettext_lazy("Old one: valve shut, cap on, EMPTY in large letters"),
        gettext_lazy("Outside the rooms, upright, held."),
    ),
    "weigh": (
        gettext_lazy("Weigh the new one; write down serial, time and who"),
        gettext_lazy("Look at the drop checker in two hours, and again tomorrow."),
    ),
}
"""What is done and what it needs (common practice, no source; local rules come first)."""


@dataclass(frozen=True, slots=True)
class StepView:
    """One line of the list."""

    key: str
    number: int
    words: Any
    more: Any
    done_at: datetime | None
    is_next: bool
    is_missing: bool


def ticked(posted: Mapping[str, Any], now: datetime) -> dict[str, datetime]:
    """The times that stand beside the steps, and now for the one that was just tapped."""
    found = {}
    for step in STEP_WORDS:
        try:
            moment = datetime.fromisoformat(str(posted.get(f"step_{step}", "")))
        except ValueError:
            continue
        if moment.tzinfo is not None:
            found[step] = moment
    tapped = str(posted.get("tick", ""))
    if tapped in found:
        del found[tapped]
    elif tapped in STEP_WORDS:
        found[tapped] = now
    return found


def step_views(
    steps: Mapping[str, datetime], missing: bool, listed: tuple[str, ...] = STEPS
) -> list[StepView]:
    """The list, with the next one to do; ``missing`` marks those that are not ticked."""
    upcoming = next((step for step in listed if step not in steps), "")
    return [
        StepView(
            key=step,
            number=n,
            words=STEP_WORDS[step][0],
            more=STEP_WORDS[step][1],
            done_at=steps.get(step),
            is_next=step == upcoming,
            is_missing=missing and step not in steps,
        )
        for n, step in enumerate(listed, 1)
    ]
