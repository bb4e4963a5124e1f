"""A slip is taken back: a further fact says so, and stock, task and reading are as before.

Within ten minutes, or as long as the round is open; later it is a correction with a reason, which
is another right. Everybody takes back their own entries, and those that were made on the tablet in
their hands during the same round: it goes from one to the other, and with it what was just tapped.
Entries of others are taken back by whoever may correct.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import UUID

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.rights import may, roles_in_words
from gallery_ops.kernel.services.work import want_work
from inventory.models import (
    EyeCount,
    FeederCalibration,
    LivestockMovement,
    Movement,
    PressCalibration,
    PressureReading,
    Use,
    Weighing,
)
from inventory.queries.measured import SEEN_BEFORE
from inventory.services import (
    calibration,
    counting,
    eye_counts,
    feeder,
    livestock,
    pressures,
    use,
    weighing,
)
from maintenance.actions.context import Said
from maintenance.actions.dose import take_back_empty
from maintenance.models import Action, Completion, HandoverLine, Observation, Skip
from maintenance.services import action_log
from maintenance.services.completions import take_back_completion
from maintenance.services.handover import take_back_line
from maintenance.services.observations import take_back_observation
from maintenance.services.skips import take_back_skip
from tanks.models import EquipmentService, Reading, RoomAirCheck
from tanks.services.equipment import take_back_service
from tanks.services.photos import take_back_photo
from tanks.services.readings import take_back_reading
from tanks.services.rooms import take_back_room_air

LONGEST = timedelta(minutes=10)
SLACK = timedelta(minutes=1)
"""So far a clock may have jumped back between an entry and its undoing."""
RIGHT = "correct"
LASTING = {"undo", "round_open", "round_close", "stop_leave", "container", "handover_read"}

TAKERS: tuple[tuple[Any, str, Callable[..., Any]], ...] = (
    (Use, "use", use.take_back_use),
    (Completion, "completion", take_back_completion),
    (Skip, "skip", take_back_skip),
    (Reading, "reading", take_back_reading),
    (RoomAirCheck, "check", take_back_room_air),
    (Observation, "observation", take_back_observation),
    (LivestockMovement, "movement", livestock.take_back),
    (HandoverLine, "line", take_back_line),
    (EquipmentService, "service", take_back_service),
    (Weighing, "weighing", weighing.take_back_weighing),
    (PressCalibration, "calibration", calibration.take_back_calibration),
    (FeederCalibration, "feeder_calibration", feeder.take_back_feeder_calibration),
    (EyeCount, "eye_count", eye_counts.take_back_eye_count),
    (PressureReading, "pressure", pressures.take_back_pressure),
    (Movement, "movement", counting.take_back_movement),
)
"""Movements of their own (a count, a decant) come last: those of a use or weighing go with it."""


def apply(said: Said) -> None:
    """Take back everything that followed from one action."""
    wanted = UUID(said.body["takes_back"])
    action = Action.objects.of(said.showroom).filter(action_id=wanted).order_by("pk").first()
    if action is None:
        raise Held(
            "unknown",
            "The entry to be taken back has not arrived here.",
            remedy="It is kept; when that entry arrives, a person can take it back.",
        )
    if action.kind in LASTING:
        raise Held(
            "not_to_be_undone",
            "An entry of this kind is not taken back.",
            remedy="Enter what is so now instead.",
        )
    _check_whose(said, action)
    _check_time(said, action)
    take_all_back(said, wanted, said.envelope.action_id)
    if action.kind == "photo":
        take_back_photo(
            showroom=said.showroom,
            action_id=wanted,
            by=said.by,
            at=said.at,
            undo_id=said.envelope.action_id,
        )
    verdict = action_log.last_verdict(action)
    if verdict is not None and verdict.outcome == "held":
        # nothing followed from it, and now nobody need look at it any more
        action_log.say(action=action, outcome="withdrawn", at=said.at, decided_by=said.by.person)
    want_work(said.showroom, "double_dose", at=said.at)
    want_work(said.showroom, "given_stopped", at=said.at)


def take_all_back(said: Said, wanted: UUID, action_id: UUID) -> int:
    """Take back every fact that followed from an action and still stands; how many those were.

    action_id : under which the taking back is written
    """
    count = 0
    take_back_empty(said, wanted)
    for model, argument, take_back in TAKERS:
        rows = model.objects.of(said.showroom).standing().filter(action_id=wanted)
        if model is Movement:
            rows = rows.filter(use=None, weighing=None).exclude(reason=SEEN_BEFORE)
        for row in rows.order_by("-pk"):
            take_back(
                **{argument: row},
                by=said.by,
                at=said.at,
                device=said.device,
                action_id=action_id,
            )
            count += 1
    return count


def _check_whose(said: Said, action: Action) -> None:
    """One's own, or of this tablet in this round; else it asks for the right to correct."""
    if action.person_id == said.by.person_id or may(said.by, RIGHT):
        return
    round_ = said.round_or_none()
    is_shared = said.device is not None and action.device_id == said.device.pk
    if is_shared and action.round_code == (round_.code if round_ is not None else ""):
        return
    if "needs_senior" in said.waived:
        return
    raise Held(
        "needs_senior",
        "This is another person's entry, and was not made on this tablet in this round.",
        remedy="It is kept, and the entry counts as before. Whoever made it takes it back, or one "
        f"of these says that it was a slip: {roles_in_words(RIGHT)}.",
    )


def _check_time(said: Said, action: Action) -> None:
    done_at = action.done_at_corrected or action.entered_at
    if -SLACK <= said.done_at_corrected - done_at <= LONGEST:
        return
    round_ = said.round_or_none()
    if round_ is not None and round_.closed_at is None and action.round_code == round_.code:
        return
    raise Held(
        "too_late",
        "More than ten minutes have gone by and the round is closed.",
        remedy="A senior carer corrects it, with a reason.",
    )
