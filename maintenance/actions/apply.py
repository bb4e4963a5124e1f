"""A batch from a tablet: each action kept and applied, or kept and held; one never stops the next.

Every action has a transaction of its own, in which the raw action is written first and its effects
in a savepoint after it: either both are there or, when the effects were refused, the raw action
with the reason. A batch cut off half way is sent again; what was applied is a duplicate then.
"""

from __future__ import annotations

import logging
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import DataError, IntegrityError, transaction

from gallery_ops.kernel.errors import Held, Refused, Unknown
from gallery_ops.kernel.models import Device, Membership, Showroom
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.limits import OutOfRange
from maintenance.actions.context import Names, Said, look_up
from maintenance.actions.envelope import Envelope, Malformed, Raw, canonical_json, read_action
from maintenance.actions.handlers import HANDLERS
from maintenance.services import action_log
from maintenance.services.received import Received, receive

AHEAD = timedelta(days=1)
"""A tablet whose corrected clock is further ahead than this is not believed."""
BEHIND = timedelta(days=60)
"""An entry older than this waits for a person (common practice, no source)."""

LONGEST_PAGE = timedelta(days=7)
"""No page of a round is open for longer; a count beyond it is not believed."""

FAULTS = (
    ArithmeticError,
    DataError,
    IntegrityError,
    LookupError,
    TypeError,
    ValidationError,
    ValueError,
)
"""A defect of ours must not stop the actions behind it, and must not lose the one it meets."""

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of one action, in words for the tablet."""

    action_id: str | None
    verdict: str
    reason: str | None = None
    words: str | None = None
    help: str | None = None
    fields: tuple[tuple[str, str], ...] = field(default=(), compare=False)
    """Sentence per field, for a form at a desk; a tablet reads them within ``words``."""
    sentence: str = field(default="", compare=False)

    def as_json(self) -> Raw:
        """As the tablet reads it."""
        words = asdict(self)
        del words["fields"], words["sentence"]
        return words


@dataclass(frozen=True, slots=True)
class Sender:
    """Who sends a batch: an enrolled device, or a person signed in at a desk."""

    showroom: Showroom
    device: Device | None = None
    desk: Membership | None = None
    boot_id: str = ""
    """Which opening of the page sends."""
    monotonic_ms: int = 0
    """For how long that page has been open."""


def apply_batch(
    *,
    sender: Sender,
    actions: list[Any],
    sent_at: datetime,
    at: datetime,
    epoch: UUID | None = None,
) -> tuple[list[Answer], Received]:
    """Keep and apply each action, oldest first.

    Parameters
    ----------
    actions : as they came, at most 100, untrusted
    sent_at : the sender's own clock when it sent; the difference to ``at`` corrects its times
    epoch : of this database where the sender knows it; a batch without actions then says that
        nothing waits for it any more

    Returns
    -------
    one answer an action, in their order, and what of this device is now received
    """
    offset = at - sent_at
    read: list[Envelope | Malformed] = []
    for raw in actions:
        try:
            read.append(read_action(raw))
        except Malformed as trouble:
            read.append(trouble)
    names = look_up(sender.showroom, [one for one in read if isinstance(one, Envelope)])
    answers: list[Answer | None] = [None] * len(read)
    for place in sorted(range(len(read)), key=lambda n: _entered(read[n])):
        one = read[place]
        answers[place] = (
            _malformed(sender, one, actions[place], at)
            if isinstance(one, Malformed)
            else _one(sender, names, one, offset, at)
        )
    seqs = [one.seq for one in read if isinstance(one, Envelope)]
    received = receive(
        device=sender.device,
        seqs=seqs,
        offset=offset,
        at=at,
        nothing_waits_in=None if actions else epoch,
    )
    return [answer for answer in answers if answer is not None], received


def _entered(one: Envelope | Malformed) -> int:
    """Its place in the order of entering: an undo must not meet the books before what it undoes."""
    return one.seq if isinstance(one, Envelope) else 0


def _one(
    sender: Sender, names: Names, envelope: Envelope, offset: timedelta, at: datetime
) -> Answer:
    corrected = _by_our_clock(sender, envelope, offset, at)
    by = _acting(sender, names, envelope, min(corrected, at))
    with transaction.atomic(durable=_is_durable()):
        kept = action_log.keep(
            showroom=sender.showroom,
            action_id=envelope.action_id,
            kind=envelope.kind,
            canonical=envelope.canonical,
            sha256=envelope.sha256,
            device=sender.device,
            person=by.person if by else None,
            seq=envelope.seq if sender.device else None,
            round_code=_round_code(names, envelope),
            stop_key=envelope.stop_id[:20],
            done_at=envelope.done_at,
            done_at_corrected=corrected,
            offset_ms=_ms(corrected - envelope.done_at),
            at=at,
        )
        if kept.outcome == "known":
            return _again(envelope, kept.row)
        if kept.outcome == "differs":
            words = "This entry is known with other content. Both are kept; a person looks at it."
            if action_log.last_verdict(kept.row) is None:
                action_log.say(action=kept.row, outcome="differs", at=at, sentence=words)
                want_work(sender.showroom, "two_versions", at=at)
            return Answer(str(envelope.action_id), "differs", words=words)
        held = _try(sender, names, envelope, by, min(corrected, at), corrected, at)
        if held is None:
            action_log.say(action=kept.row, outcome="accepted", at=at)
            return Answer(str(envelope.action_id), "accepted")
        told = [text for text in held.fields.values() if text not in held.sentence]
        words = " ".join([held.sentence, *told]).strip()
        action_log.say(
            action=kept.row,
            outcome="held",
            at=at,
            code=held.code,
            sentence=words,
            remedy=held.remedy,
        )
        return replace(
            _held(envelope.action_id, held.code, words, held.remedy),
            fields=tuple(held.fields.items()),
            sentence=held.sentence,
        )


def _try(
    sender: Sender,
    names: Names,
    envelope: Envelope,
    by: Membership | None,
    done_at: datetime,
    corrected: datetime,
    at: datetime,
) -> Held | None:
    """Apply in a savepoint; what stands in the way comes back instead of being raised."""
    try:
        _check_sender(sender, corrected, at)
        if by is None:
            raise Held("unknown", "There is no such person here.")
        said = Said(
            showroom=sender.showroom,
            envelope=replace(envelope, done_at=min(envelope.done_at, at + AHEAD)),
            names=names,
            by=by,
            device=sender.device,
            done_at_corrected=done_at,
            at=at,
        )
        with transaction.atomic():
            HANDLERS[envelope.kind].apply(said)
    except Held as held:
        return held
    except (Refused, Unknown) as no:
        return Held(no.code, no.sentence, no.fields, no.remedy)
    except OutOfRange as no:
        return Held("out_of_range", no.sentence, remedy=no.remedy)
    except FAULTS:
        log.exception("action.broke", extra={"kind": envelope.kind, "action": envelope.action_id})
        return Held(
            "program_fault",
            "The program made a mistake with this entry. It is kept.",
            remedy="Tell whoever runs this program; a person enters it meanwhile.",
        )
    return None


def _check_sender(sender: Sender, corrected: datetime, at: datetime) -> None:
    """Hold what comes from a tablet out of service, or from a time that cannot be believed."""
    if sender.device is not None and sender.device.revoked_at is not None:
        raise Held(
            "device_revoked",
            "This tablet was taken out of service.",
            remedy="A manager decides what shall count, and may enrol it again.",
        )
    if corrected > at + AHEAD:
        raise Held(
            "too_early",
            "This lies in the future by the gallery's clock.",
            remedy="Look at the tablet's clock.",
        )
    if corrected < at - BEHIND:
        raise Held(
            "too_old",
            "This is said to have been done more than sixty days ago.",
            remedy="Look at the tablet's clock. If it is true, a person enters it.",
        )


def _acting(
    sender: Sender, names: Names, envelope: Envelope, moment: datetime
) -> Membership | None:
    """On a tablet whoever signed in there; at a desk only the person who is signed in.

    It counts who worked here at that moment, not who works here when the entry arrives.
    """
    if sender.desk is not None:
        mine = str(sender.desk.person.uid) == envelope.person_id
        return sender.desk if mine else None
    return names.member(envelope.person_id, moment)


def _again(envelope: Envelope, row: Any) -> Answer:
    verdict = action_log.last_verdict(row)
    if verdict is not None and verdict.outcome == "held":
        return _held(envelope.action_id, verdict.code, verdict.sentence, verdict.remedy)
    return Answer(str(envelope.action_id), "duplicate")


def _held(action_id: UUID, code: str, sentence: str, remedy: str) -> Answer:
    return Answer(str(action_id), "held", reason=code, words=sentence, help=remedy or None)


def _malformed(sender: Sender, trouble: Malformed, raw: Any, at: datetime) -> Answer:
    """It is kept where it can be named at all; it never blocks those behind it."""
    try:
        action_id = UUID(trouble.action_id or "")
        canonical = canonical_json(raw)[:60_000].replace("\\u0000", "\\ufffd")
    except (ValueError, TypeError, RecursionError):
        return Answer(trouble.action_id, "malformed", words=str(trouble))
    seq = raw.get("seq") if isinstance(raw, dict) else None
    with transaction.atomic():
        kept = action_log.keep(
            showroom=sender.showroom,
            action_id=action_id,
            kind="malformed",
            canonical=canonical,
            sha256=action_log.digest(canonical),
            device=sender.device,
            seq=seq if isinstance(seq, int) and 0 < seq < 2**53 and sender.device else None,
            at=at,
        )
        if kept.outcome != "known":
            action_log.say(action=kept.row, outcome="malformed", at=at, sentence=str(trouble))
    return Answer(str(action_id), "malformed", words=str(trouble), help="Report this.")


def _round_code(names: Names, envelope: Envelope) -> str:
    round_ = names.rounds.get(envelope.round_id)
    return round_.code if round_ else ""


def _by_our_clock(sender: Sender, envelope: Envelope, offset: timedelta, at: datetime) -> datetime:
    """When it was done: so long before now as the tablet says by either of its clocks.

    The wall clock may have been set back since, and the count of a page may have stood still while
    the tablet slept; neither makes more time of what passed, so the longer one is right.
    """
    corrected = envelope.done_at + offset
    if not sender.boot_id or envelope.boot_id != sender.boot_id:
        return corrected
    counted = timedelta(milliseconds=sender.monotonic_ms - envelope.monotonic_ms)
    if not timedelta(0) <= counted <= LONGEST_PAGE:
        return corrected
    return min(corrected, at - counted)


def _ms(offset: timedelta) -> int:
    return int(offset / timedelta(milliseconds=1))


def _is_durable() -> bool:
    """Durable at the door; inside a caller's transaction (a desk form, a test) a part of it."""
    return not transaction.get_connection().in_atomic_block
