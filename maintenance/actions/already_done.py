"""Somebody else did it already: which entry says so, or who is said to have done it, and when?

An entry that is pointed at must be here, count, and be about the same tank. Where there is none, it
is a claim: a name and a time, kept as a claim. Neither moves stock; a claim of a dose or food that
nobody entered is asked about (``services.skip_alerts``).
"""

from __future__ import annotations

from datetime import datetime, timedelta
from uuid import UUID

from gallery_ops.kernel.errors import Held, Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.day import business_day, local
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.text import clean_text
from inventory.models import Use
from maintenance.actions.context import Said
from maintenance.models import Action, Completion, DueTask, Observation
from maintenance.services import action_log
from maintenance.services.skips import CLAIM, PURPOSES
from tanks.models import Reading
from tanks.queries.glasses import same_tank

LONGEST_NAME = 80
SLACK = timedelta(minutes=10)
"""So far a clock on a wall may be ahead of the tablet's."""
FURTHEST = timedelta(days=7)
"""What was done longer ago is no answer to a task of today (common practice, no source)."""


def already_done(said: Said, task: DueTask) -> tuple[str, str]:
    """What the skip links to, and its words.

    Raises
    ------
    Held
        ``unknown`` for an entry or a person that is not here, ``reason_incomplete`` for words
        alone: whoever may correct lets them count as a claim
    Refused
        ``bad_claim`` for a time that cannot be, a name too long, or a claim about oneself
    """
    body = said.body
    if body["links"]:
        _check_entry(said, task, body["links"])
        return body["links"], body["text"] or ""
    claim = body.get("claim")
    if claim is not None:
        return _claim(said, claim)
    if "reason_incomplete" in said.waived and (body["text"] or "").strip():
        return CLAIM, body["text"]
    raise Held(
        "reason_incomplete",
        "This reason needs the entry of the other person, or a name and a time.",
        {"links": "Choose the entry that did it, or say who did it and when."},
        "It is kept. Whoever did it enters it, or a senior carer lets it count as a claim.",
    )


def _check_entry(said: Said, task: DueTask, text: str) -> None:
    """It is here, it counts, and something of its kind stands at this tank or place that day."""
    try:
        wanted = UUID(text)
    except ValueError:
        raise _no_entry() from None
    rows = Action.objects.of(said.showroom).filter(action_id=wanted)
    action = rows.exclude(action_id=said.envelope.action_id).order_by("pk").first()
    if action is None:
        if _stands(said, task, wanted):
            return  # entered by a program of the gallery, without an action of its own
        raise _no_entry()
    verdict = action_log.last_verdict(action)
    if verdict is None or verdict.outcome != "accepted" or not _stands(said, task, None):
        raise Held(
            "unknown",
            "That entry does not count for this task.",
            remedy="It is kept. Look at the entry, and do the task or skip it with what is so.",
        )


def _stands(said: Said, task: DueTask, wanted: UUID | None) -> bool:
    """A fact of its kind at its subject: by this action, else of this day or the task's."""
    showroom = said.showroom
    today = business_day(said.done_at_corrected, showroom.tz, showroom.cut_off_hour)
    purpose = PURPOSES.get(task.template.kind)
    glasses = same_tank(task.tank) if task.tank is not None else []
    if purpose is not None and glasses:
        uses = Use.objects.of(showroom).standing().filter(tank_id__in=glasses, purpose=purpose)
        uses = uses.filter(given_base__gt=0, business_on__in={today, task.due_on})
        if wanted is not None:
            uses = uses.filter(action_id=wanted)
        return bool(uses.exists())
    since = said.done_at_corrected - FURTHEST
    facts = [
        Completion.objects.of(showroom).filter(due_task__subject_key=task.subject_key),
        Observation.objects.of(showroom).filter(tank_id__in=glasses),
        Reading.objects.of(showroom).filter(tank_id__in=glasses),
    ]
    for rows in facts[: 3 if glasses else 1]:
        found = rows.standing().filter(done_at_corrected__gte=since)
        if (found if wanted is None else found.filter(action_id=wanted)).exists():
            return True
    return False


def _claim(said: Said, claim: dict[str, str | None]) -> tuple[str, str]:
    at = _time(said, claim["at"] or "")
    uid, name = claim["person"], (claim["name"] or "").strip()
    if uid:
        member = _member(said, uid)
        if member.person_id == said.by.person_id:
            raise _bad("person", "Who did it: that is you. Enter it as done instead.")
        name = member.person.name
    if not name:
        raise _bad("name", "Who did it: choose a person, or write a name.")
    try:
        name = clean_text(name, field="Who did it", longest=LONGEST_NAME)
    except OutOfRange as no:
        raise _bad("name", no.sentence) from None
    showroom = said.showroom
    when = local(at, showroom.tz)
    today = business_day(said.done_at_corrected, showroom.tz, showroom.cut_off_hour)
    is_today = business_day(at, showroom.tz, showroom.cut_off_hour) == today
    told = f"{name}, {when:%H:%M}" if is_today else f"{name}, {when:%Y-%m-%d %H:%M}"
    words = (said.body["text"] or "").strip()
    return f"{CLAIM}{uid or ''}", f"{told}. {words}" if words else told


def _time(said: Said, text: str) -> datetime:
    try:
        at = datetime.fromisoformat(text).replace(tzinfo=said.showroom.tz)
    except ValueError:
        raise _bad("at", f"When: {text[:20]} is no such time.") from None
    if not said.done_at_corrected - FURTHEST <= at <= said.done_at_corrected + SLACK:
        raise _bad("at", "When: a time of the last seven days, and not one to come.")
    return at


def _member(said: Said, text: str) -> Membership:
    try:
        uid = UUID(text)
    except ValueError:
        raise _nobody() from None
    rows = Membership.objects.of(said.showroom).at(said.done_at_corrected)
    found: Membership | None = rows.filter(person__uid=uid).select_related("person").first()
    if found is None:
        raise _nobody()
    return found


def _no_entry() -> Held:
    return Held(
        "unknown",
        "The entry that is said to have done it has not arrived here.",
        remedy="It is kept; when that entry arrives, a person can let this one count.",
    )


def _nobody() -> Held:
    return Held(
        "unknown",
        "There is no such person here.",
        remedy="It is kept. Say who did it by a name that is known here.",
    )


def _bad(field: str, sentence: str) -> Refused:
    return Refused("bad_claim", sentence, {field: sentence})
