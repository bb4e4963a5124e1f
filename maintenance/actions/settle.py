"""A person decides about an entry that waits: it counts, it stays a note, or it was a slip.

The entry itself is never changed. A decision is a further verdict with the name of whoever took it,
and one line of the audit trail; what follows from an entry that counts is dated when it was done.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType

from django.db import transaction

from gallery_ops.kernel.errors import Held, Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.audit import record_audit
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.text import clean_text
from maintenance.actions.context import Said, look_up
from maintenance.actions.envelope import Envelope, Malformed, read_action
from maintenance.actions.handlers import HANDLERS
from maintenance.models import Action, Observation, Verdict
from maintenance.queries.held import LET_GO, OPEN_AGAIN_FOR, WAITING
from maintenance.services import action_log
from maintenance.services.observations import observe, take_back_observation
from tanks.models import Tank

KEY = "held"
"""Under which key a note lies that was made of an entry."""
LONGEST_REASON = 200
LONGEST_NOTE = 500

RIGHT: Mapping[str, str] = MappingProxyType(
    {
        "ask_again": "record",
        "ask_full": "record",
        "wrong_skill": "record",
        "out_of_range": "override_range",
        "needs_senior": "correct",
        "not_empty": "correct",
        "not_skilled": "correct",
        "other_task": "correct",
        "stopped": "correct",
        "reason_incomplete": "correct",
        "device_revoked": "device.enrol",
        "too_old": "correct",
        "unknown": "correct",
        "program_fault": "correct",
    }
)
"""Why an entry waits, and who may let it count nevertheless. What is missing here cannot count: it
stays a note or was a slip, and is entered anew as it should be."""
OVER_PLAN = ("dose", "feed", "move_record")
"""Of these an amount out of range may be true; a reading out of range cannot."""
AMOUNTS = {"given_ul", "presses", "given_mg"}


def right_to_accept(verdict: Verdict) -> str | None:
    """Which right lets this entry count as it was written; None when nobody's does."""
    if verdict.outcome != "held":
        return None
    if verdict.code == "out_of_range" and not _is_over_plan(verdict.action):
        return None
    return RIGHT.get(verdict.code)


def _is_over_plan(action: Action) -> bool:
    """An amount that was given, also one that was put right."""
    if action.kind != "amend":
        return action.kind in OVER_PLAN
    envelope = envelope_of(action)
    return envelope is not None and bool(AMOUNTS & set(envelope.body["changes"]))


@transaction.atomic
def accept(*, verdict: Verdict, by: Membership, at: datetime) -> Verdict:
    """It was so: what follows from the entry follows now, dated when it was done.

    A task for which its author had not the skill is signed by whoever accepts it, who needs it.
    Where a second thing stands in the way, the entry goes on waiting for that one only: the verdict
    that is given back is ``held`` then, and what was let pass stays let pass.

    Raises
    ------
    Refused
        ``settled_already``; ``cannot_count`` for an entry that no right lets count.
    Held, Refused
        what still stands in the way and nobody can let pass; the entry then waits as before
    """
    right = right_to_accept(verdict)
    require(by, right or "correct", in_=verdict.showroom)
    action = _lock(verdict)
    if right is None:
        raise Refused(
            "cannot_count",
            "As it was written this cannot count.",
            remedy="Keep it as a note, and enter it anew as it should be.",
        )
    said = _said(verdict, action, by, at)
    try:
        with transaction.atomic():
            HANDLERS[action.kind].apply(said)
    except Held as held:
        if held.code in said.waived or held.code not in RIGHT:
            raise
        return _next_in_the_way(verdict, held, by, at)
    return _decide(verdict, "accepted", by, at, "counts as written")


@transaction.atomic
def keep_as_note(
    *, verdict: Verdict, words: str, by: Membership, at: datetime, tank: Tank | None = None
) -> Verdict:
    """Nothing is counted; what was written stays beside the tank as a note.

    words : the entry as people read it
    """
    require(by, "correct", in_=verdict.showroom)
    action = _lock(verdict)
    observe(
        showroom=verdict.showroom,
        tank=tank,
        kind="note",
        key=KEY,
        text=words[:LONGEST_NOTE],
        done_at=action.done_at,
        done_at_corrected=_when(action, at),
        data={"action": str(action.action_id), "content": action.sha256},
        by=by,
        at=at,
    )
    return _decide(verdict, "noted", by, at, "kept as a note, not counted")


@transaction.atomic
def refuse(*, verdict: Verdict, reason: str, by: Membership, at: datetime) -> Verdict:
    """It was a slip: nothing is counted. The reason is asked for and kept."""
    require(by, "correct", in_=verdict.showroom)
    _lock(verdict)
    try:
        reason = clean_text(reason, field="Why", longest=LONGEST_REASON)
    except OutOfRange as error:
        raise Refused.from_range(error, field="reason") from None
    if not reason:
        sentence = "Why: say why it does not count, in at most 200 characters."
        raise Refused("no_reason", sentence, {"reason": sentence})
    return _decide(verdict, "refused", by, at, reason)


@transaction.atomic
def open_again(*, verdict: Verdict, by: Membership, at: datetime) -> Verdict:
    """Within seven days what was let go waits once more; a note made of it is taken back.

    Raises Refused ``not_open_again`` later, and for an entry that counts: that is undone instead.
    """
    require(by, "correct", in_=verdict.showroom)
    action = _lock(verdict, LET_GO)
    before = (
        Verdict.objects.filter(action=action, pk__lt=verdict.pk, outcome__in=WAITING)
        .order_by("-pk")
        .first()
    )
    if before is None or verdict.at <= at - OPEN_AGAIN_FOR:
        raise Refused(
            "not_open_again",
            "This was settled more than seven days ago.",
            remedy="Enter anew what is so.",
        )
    notes = Observation.objects.of(verdict.showroom).standing().filter(key=KEY)
    for note in notes.filter(data__action=str(action.action_id), data__content=action.sha256):
        take_back_observation(observation=note, by=by, at=at)
    _audit(verdict, by, at, "held.open", "waits once more")
    return action_log.say(
        action=action,
        outcome=before.outcome,
        at=at,
        code=before.code,
        sentence=before.sentence,
        remedy=before.remedy,
        decided_by=by.person,
    )


def envelope_of(action: Action) -> Envelope | None:
    """The entry as it was sent; None for one that cannot be read."""
    try:
        return read_action(json.loads(action.canonical))
    except (Malformed, ValueError, RecursionError):
        return None


def _said(verdict: Verdict, action: Action, by: Membership, at: datetime) -> Said:
    envelope = envelope_of(action)
    if envelope is None:
        raise Refused("cannot_count", "This entry cannot be read.", remedy="Keep it as a note.")
    names = look_up(verdict.showroom, [envelope])
    done_at = _when(action, at)
    waived = _let_pass(verdict)
    author = by if "wrong_skill" in waived else names.member(envelope.person_id, done_at)
    if author is None:
        raise Refused(
            "unknown_person",
            "Whoever wrote this did not work here then.",
            remedy="Keep it as a note, and enter it anew under your own name.",
        )
    return Said(
        showroom=verdict.showroom,
        envelope=envelope,
        names=names,
        by=author,
        device=action.device,
        done_at_corrected=done_at,
        at=at,
        waived=waived,
    )


def _let_pass(verdict: Verdict) -> frozenset[str]:
    """This code, and those that somebody who may let pass just before, one after the other."""
    codes = {verdict.code}
    earlier = Verdict.objects.filter(action_id=verdict.action_id, pk__lt=verdict.pk)
    for before in earlier.order_by("-pk"):
        if before.outcome != "held" or before.code in codes:
            break
        codes.add(before.code)
    return frozenset(codes)


def _next_in_the_way(verdict: Verdict, held: Held, by: Membership, at: datetime) -> Verdict:
    """What was let pass is written down with its name; from now on it waits for the next thing."""
    _audit(verdict, by, at, "held.let_pass", f"let pass, and waits: {held.code}")
    return action_log.say(
        action=verdict.action,
        outcome="held",
        at=at,
        code=held.code,
        sentence=" ".join([held.sentence, *held.fields.values()]),
        remedy=held.remedy,
        decided_by=by.person,
    )


def _when(action: Action, at: datetime) -> datetime:
    return min(action.done_at_corrected or action.entered_at, at)


def _lock(verdict: Verdict, outcomes: tuple[str, ...] = WAITING) -> Action:
    """Let nobody else settle it meanwhile. Raises Refused when somebody has."""
    action: Action = (
        Action.objects.select_for_update(of=("self",))
        .select_related("device", "person")
        .get(pk=verdict.action_id)
    )
    last = action_log.last_verdict(action)
    if last is None or last.pk != verdict.pk or verdict.outcome not in outcomes:
        who = last.decided_by.name if last is not None and last.decided_by else "Somebody"
        raise Refused("settled_already", f"{who} has settled this meanwhile.")
    return action


def _decide(verdict: Verdict, outcome: str, by: Membership, at: datetime, sentence: str) -> Verdict:
    _audit(verdict, by, at, f"held.{outcome}", sentence)
    if verdict.outcome == "differs":
        want_work(verdict.showroom, "two_versions", at=at)
    return action_log.say(
        action=verdict.action,
        outcome=outcome,
        at=at,
        code=verdict.code,
        sentence=sentence,
        decided_by=by.person,
    )


def _audit(verdict: Verdict, by: Membership, at: datetime, deed: str, reason: str) -> None:
    record_audit(
        showroom=verdict.showroom,
        by=by,
        at=at,
        deed=deed,
        subject_kind="action",
        subject_key=str(verdict.action.action_id),
        before={"outcome": verdict.outcome, "code": verdict.code, "why": verdict.sentence},
        reason=reason,
    )
