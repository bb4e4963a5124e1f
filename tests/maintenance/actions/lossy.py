"""Tablets in a basement: they enter, send over a bad channel, keep everything until a verdict came.

A tablet here does what the one in a hand does: numbers without a gap, oldest first, nothing is
forgotten before a verdict, an entry is never changed. What was entered is written down apart, as
the truth to compare with.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, NamedTuple

from gallery_ops.kernel.models import Device
from gallery_ops.kernel.values.uuid7 import uuid7
from maintenance.actions.apply import Sender, apply_batch
from tests.maintenance.actions.hands import Crew, Hands
from tests.maintenance.actions.saying import AT, Morning

MISHAPS = ("lost", "answer_lost", "cut", "doubled", "shuffled", "none")


class Dose(NamedTuple):
    """What stands of a dose: at which tank, how much [µL]."""

    tank: str
    ul: int


class Tap(NamedTuple):
    """One tap on the card of an emergency, at its second."""

    at: datetime
    action_id: str
    kind: str
    line: int | None


@dataclass
class Basement:
    """A morning, its tablets, what became of every request so far, and what must be in the books.

    lines: handover lines by action id. read: those that somebody read, and who.
    photos: action id -> digest.
    taps: by the emergency's id.
    """

    morning: Morning
    chance: random.Random
    stops: dict[str, dict[str, str]]
    requests: int = 0
    lines: list[str] = field(default_factory=list)
    read: set[tuple[str, int]] = field(default_factory=set)
    photos: dict[str, str] = field(default_factory=dict)
    taps: dict[str, list[Tap]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.emergencies = [str(uuid7(AT)) for _ in range(2)]
        self.taps = {uid: [] for uid in self.emergencies}

    def at_stop(self, tank: str) -> dict[str, str]:
        """Stop and task of the dose of a tank."""
        return self.stops[tank]

    def deliver(self, tablet: Tablet, actions: list[dict[str, Any]], mishap: str) -> None:
        """One request through the channel, with one mishap."""
        self.requests += 1
        if mishap == "lost":
            return
        part = actions[: max(1, len(actions) // 2)] if mishap == "cut" else list(actions)
        if mishap == "shuffled":
            self.chance.shuffle(part)
        for _ in range(2 if mishap == "doubled" else 1):
            answers, _up_to = apply_batch(
                sender=Sender(showroom=self.morning.house.showroom, device=tablet.device),
                actions=part,
                sent_at=AT,
                at=AT,
            )
        if mishap == "answer_lost":
            return
        for answer in answers:
            tablet.hear(answer.action_id, answer.verdict)


@dataclass
class Tablet:
    """One tablet: entries with their verdicts, in order."""

    device: Device
    boot_id: str
    entries: dict[str, dict[str, Any]] = field(default_factory=dict)
    verdicts: dict[str, list[str]] = field(default_factory=dict)
    doses: dict[str, Dose] = field(default_factory=dict)
    """Standing doses of this tablet by the action id that they stand by."""
    notes: set[str] = field(default_factory=set)
    reads: set[str] = field(default_factory=set)
    hands: Hands | None = None
    by: dict[str, int] = field(default_factory=dict)
    """Whose thumb each entry was."""
    unproven: dict[str, bool] = field(default_factory=dict)
    """Work that needs C3: must somebody vouch for it?"""

    def enter(self, basement: Basement, kind: str, body: dict[str, Any], **at: Any) -> str:
        """Write an entry down; it waits."""
        action = basement.morning.action(kind, body, **{"done_at": AT, **at})
        action["device_id"] = str(self.device.uid)
        action["seq"] = len(self.entries) + 1
        action["boot_id"] = self.boot_id
        if self.hands is not None:
            holder = self.hands.holder
            assert holder is not None, "a locked tablet enters nothing"
            action["person_id"] = str(self.hands.crew.people[holder].person.uid)
            action["person_proof"] = at.get("person_proof", self.hands.proof)
            self.by[action["action_id"]] = holder
        self.entries[action["action_id"]] = action
        return str(action["action_id"])

    def waiting(self, most: int = 100) -> list[dict[str, Any]]:
        """The oldest that have no verdict yet."""
        return [a for key, a in self.entries.items() if key not in self.verdicts][:most]

    def hear(self, action_id: str | None, verdict: str) -> None:
        """A verdict came."""
        assert action_id in self.entries, f"a verdict on {action_id}, which nobody entered here"
        self.verdicts.setdefault(str(action_id), []).append(verdict)


def a_tablet(device: Device, crew: Crew | None = None) -> Tablet:
    """A tablet that has just been switched on; without a crew everything is of one person."""
    hands = Hands(crew, device) if crew is not None else None
    return Tablet(device, str(uuid7(AT)), hands=hands)
