"""How does an entry read with the amount or number that was meant?"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from gallery_ops.kernel.errors import Held
from maintenance.actions.envelope import Envelope

MAY_CHANGE: dict[str, frozenset[str]] = {
    "dose": frozenset({"given_ul", "presses"}),
    "feed": frozenset({"given_mg"}),
    "check": frozenset({"value"}),
}
"""What may be put right of which kind of entry."""
WORDS = {"all_normal", "different", "counted"}
"""Values of a check that are no number and no word of the catalogue."""


def changed(before: Envelope, changes: dict[str, Any]) -> Envelope:
    """The entry with the amount that was meant."""
    strange = set(changes) - MAY_CHANGE.get(before.kind, frozenset())
    if before.kind == "check" and WORDS & {before.body["value"], changes.get("value")}:
        strange = {"value"}
    if strange:
        raise Held(
            "not_to_be_amended",
            "That cannot be put right in an entry of this kind.",
            dict.fromkeys(sorted(strange), "Not allowed here."),
            "Take it back, and enter what is so.",
        )
    inner = {**before.body, **changes, "text": None}
    if before.kind == "dose":
        inner["short"] = None
        if "presses" in changes and "given_ul" not in changes:
            inner["given_ul"] = changes["presses"] * (before.body["per_press_ul"] or 0)
        elif "presses" not in changes:
            inner["presses"] = None
    return replace(before, body=inner)
