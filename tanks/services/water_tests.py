"""One test of the water at a desk: several parameters, all of them written down or none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from tanks.models import Reading, Tank
from tanks.services.readings import record_reading

REALLY = ".really"
"""Ends the key of a field where somebody is asked "really?"."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a test as it was typed."""

    key: str
    text: str
    counted_as: str = ""
    method: str = ""
    reagent_lot: str = ""
    is_really: bool = False


@transaction.atomic
def record_test(
    *,
    tank: Tank,
    entries: Sequence[Entry],
    light_phase: str,
    by: Membership,
    at: datetime,
    read_at: datetime | None = None,
    action_id: UUID | None = None,
) -> list[Reading]:
    """Write down a test.

    read_at : when it was read; None is now
    action_id : the same form sent twice is one test

    Raises
    ------
    Refused
        ``test_refused`` with one line per parameter that cannot stay so, keyed by parameter; by
        ``<parameter>.really`` where only a yes is missing. ``nothing_read`` and ``not_yet`` for an
        empty form and a moment that has not come.
    """
    if read_at is not None and read_at > at:
        raise Refused(
            "not_yet",
            "The time of the reading has not come yet.",
            {"read_at": "Now or earlier."},
            "Leave it empty if it was read just now.",
        )
    if not entries:
        raise Refused(
            "nothing_read", "No reading was typed.", {}, "Type at least one of them, or go back."
        )
    kept: list[Reading] = []
    wrong: dict[str, str] = {}
    for entry in entries:
        try:
            kept.append(
                record_reading(
                    tank=tank,
                    parameter=entry.key,
                    text=entry.text,
                    counted_as=entry.counted_as,
                    method=entry.method.strip()[:80],
                    reagent_lot=entry.reagent_lot.strip()[:40],
                    light_phase=light_phase,
                    asked_again=entry.is_really,
                    by=by,
                    at=at,
                    done_at=read_at,
                    action_id=action_id,
                )
            )
        except Refused as no:
            asks = no.code == "ask_again"
            allowed = " ".join(no.fields.values())
            wrong[entry.key + (REALLY if asks else "")] = f"{no.sentence} {allowed}"
    if wrong:
        raise Refused(
            "test_refused",
            "Nothing is written down yet.",
            wrong,
            "Correct these lines, or say that they are true.",
        )
    return kept
