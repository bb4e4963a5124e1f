"""An entry is taken back and entered anew, as it should have been: elsewhere, or another number.

Both stay: the facts of the first are taken back, those of the second carry the id of whoever's
correction it was, and the moment of the first, since that is when it was done. Stock, plan and task
follow in the same transaction. What was corrected once is corrected again by naming the last
correction, so that two people who correct the same entry never count it twice.
"""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any
from uuid import UUID, uuid5

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import may, roles_in_words
from gallery_ops.kernel.services.audit import record_audit
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.day import business_day
from inventory.models import Use
from maintenance.actions import animal, check, complete, dose, feed, note, skip, unable
from maintenance.actions.amending import changed
from maintenance.actions.context import Said, look_up
from maintenance.actions.envelope import Envelope, Malformed, read_action
from maintenance.actions.moving import moved
from maintenance.actions.undo import take_all_back
from maintenance.models import Action
from maintenance.services import action_log

CORRECTS = {"move_record": "moves", "amend": "amends"}
"""Kinds that enter anew, and the field that names what they correct."""
MOST_TIMES = 20
RIGHT = "correct"

AGAIN: dict[str, Any] = {
    "animal": animal,
    "check": check,
    "complete": complete,
    "dose": dose,
    "feed": feed,
    "note": note,
    "skip": skip,
    "unable": unable,
}
"""Which file applies what is entered anew."""


def enter_anew(said: Said) -> None:
    """Take back what followed from the entry that is named, and apply it as it should have been.

    Raises
    ------
    Held
        ``unknown`` when it has not arrived, ``settled_already`` when it was corrected or taken back
        meanwhile, ``needs_senior`` when this person may not, and whatever the entry itself meets
    """
    kind, body = said.envelope.kind, said.body
    wanted = UUID(body[CORRECTS[kind]])
    action = _action(said, wanted)
    before = written(said, action)
    author = _author(said, before, action)
    _check_right(said, before, action)
    bottle = _bottle_of(said, wanted)
    after = _change(said, kind, before, action, body)
    if not take_all_back(said, wanted, uuid5(said.envelope.action_id, "taken back")):
        raise _settled(said, wanted)
    inner = {**after.body, "bottle": bottle} if after.kind == "dose" and bottle else after.body
    anew = replace(after, action_id=said.envelope.action_id, body=inner)
    AGAIN[anew.kind].apply(
        Said(
            showroom=said.showroom,
            envelope=anew,
            names=look_up(said.showroom, [anew]),
            by=author,
            device=said.device,
            done_at_corrected=action.done_at_corrected or action.entered_at,
            at=said.at,
            waived=said.waived | {"bottle"},
        )
    )
    _note(said, action, before, anew)
    want_work(said.showroom, "double_dose", at=said.at)
    want_work(said.showroom, "given_stopped", at=said.at)


def written(said: Said, action: Action, depth: int = 0) -> Envelope:
    """The entry as it stands after all corrections before this one."""
    if depth > MOST_TIMES:
        raise Held("too_often", "This entry was corrected too often to follow.")
    try:
        envelope = read_action(json.loads(action.canonical))
    except (Malformed, ValueError, RecursionError):
        raise Held("unknown", "The entry to be corrected cannot be read.") from None
    field = CORRECTS.get(envelope.kind)
    if field is None:
        return envelope
    origin = _action(said, UUID(envelope.body[field]))
    return _change(said, envelope.kind, written(said, origin, depth + 1), origin, envelope.body)


def _change(
    said: Said, kind: str, before: Envelope, action: Action, body: dict[str, Any]
) -> Envelope:
    if kind == "move_record":
        return moved(said, before, action, body["tank"])
    return changed(before, body["changes"])


def _action(said: Said, wanted: UUID) -> Action:
    rows = Action.objects.of(said.showroom).filter(action_id=wanted).select_related("person")
    action: Action | None = rows.order_by("pk").select_for_update(of=("self",)).first()
    if action is None or wanted == said.envelope.action_id:
        raise Held(
            "unknown",
            "The entry to be corrected has not arrived here.",
            remedy="It is kept; when that entry arrives, a person can let this one count.",
        )
    return action


def _author(said: Said, before: Envelope, action: Action) -> Membership:
    """Whoever did it, not whoever corrects it."""
    moment = action.done_at_corrected or action.entered_at
    found = look_up(said.showroom, [before]).member(before.person_id, moment)
    return found or said.by


def _check_right(said: Said, before: Envelope, action: Action) -> None:
    """One's own of the same business day; everybody's with the right to correct."""
    showroom = said.showroom
    done_at = action.done_at_corrected or action.entered_at
    days = {
        business_day(moment, showroom.tz, showroom.cut_off_hour)
        for moment in (done_at, said.done_at_corrected)
    }
    own = before.person_id.lower() == str(said.by.person.uid)
    if (own and len(days) == 1) or may(said.by, RIGHT) or "needs_senior" in said.waived:
        return
    raise Held(
        "needs_senior",
        "This is another person's entry, or one of another day.",
        remedy=f"It counts when one of these enters it: {roles_in_words(RIGHT)}.",
    )


def _bottle_of(said: Said, wanted: UUID) -> str:
    """It left that bottle, whichever tank it went into."""
    use = Use.objects.of(said.showroom).standing().filter(action_id=wanted, is_skip=False)
    return str(use.values_list("container__code", flat=True).first() or "")


def _settled(said: Said, wanted: UUID) -> Held:
    last = (
        Action.objects.of(said.showroom)
        .filter(kind__in=[*CORRECTS, "undo"], canonical__contains=str(wanted))
        .exclude(action_id__in=[wanted, said.envelope.action_id])
        .select_related("person")
        .order_by("-pk")
        .first()
    )
    verdict = action_log.last_verdict(last) if last is not None else None
    if last is None or last.person is None or verdict is None or verdict.outcome != "accepted":
        return Held(
            "nothing_stands",
            "Nothing follows from this entry that could be corrected.",
            remedy="Look whether it waits for a person.",
        )
    return Held(
        "settled_already",
        f"{last.person.name} has taken this entry back or corrected it meanwhile.",
        remedy="Look at how it stands now, and correct that.",
    )


def _note(said: Said, action: Action, before: Envelope, after: Envelope) -> None:
    record_audit(
        showroom=said.showroom,
        by=said.by,
        at=said.at,
        deed=f"entry.{said.envelope.kind}",
        subject_kind="action",
        subject_key=str(action.action_id),
        before={"stop": before.stop_id, "task": before.task_id, "body": before.body},
        after={
            "action": str(said.envelope.action_id),
            "stop": after.stop_id,
            "task": after.task_id,
            "body": after.body,
        },
        reason=said.body["reason"],
    )
