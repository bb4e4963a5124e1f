"""A task was left out with one of the twelve reasons; a dose left out uses nothing."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from uuid import UUID

from gallery_ops.kernel.errors import Held, Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.queries.people import skills_of
from gallery_ops.kernel.rights import roles_in_words
from gallery_ops.kernel.values.day import business_day, instant
from maintenance.actions.already_done import already_done
from maintenance.actions.context import Said
from maintenance.actions.empty_tank import check_empty
from maintenance.models import DueTask
from maintenance.services.skips import skip

ALREADY_DONE = "already_done"
TANK_EMPTY = "tank_empty"
NOT_SKILLED = "not_skilled"
FURTHEST = timedelta(days=366)


def apply(said: Said) -> None:
    """Leave it out."""
    body = said.body
    task = said.task(body["task"])
    if body["reason"] == "needs_skill" and body["links"]:
        _can_do_it(said, task, body["links"])
    if body["reason"] == TANK_EMPTY and task.tank is not None:
        check_empty(said, task.tank)
    links, text = body["links"] or "", body["text"] or ""
    if body["reason"] == ALREADY_DONE:
        links, text = already_done(said, task)
    skip(
        due_task=task,
        reason=body["reason"],
        text=text,
        until_at=_until(said, body["until"]),
        links_to=links,
        **said.moments(),
    )


def _can_do_it(said: Said, task: DueTask, text: str) -> None:
    """Raises Held for a person who does not work here or has not the skill, and for nobody."""
    members = Membership.objects.of(said.showroom).at(said.done_at_corrected)
    try:
        member = members.filter(person__uid=UUID(text)).select_related("person").first()
    except ValueError:
        member = None
    if member is None:
        raise Held(
            "unknown",
            "There is no such person here.",
            remedy="It is kept. Hand it over to somebody who works here.",
        )
    showroom, wanted = said.showroom, task.template.skill
    day = business_day(said.done_at_corrected, showroom.tz, showroom.cut_off_hour)
    if wanted == "C1" or NOT_SKILLED in said.waived or wanted in skills_of(member, day):
        return
    raise Held(
        NOT_SKILLED,
        f"{task.template.name} needs {wanted}, and {member.person.name} is not signed off for it.",
        remedy=f"It is kept, and the task stays due. Hand it to somebody with {wanted}. It counts "
        f"when one of these says so: {roles_in_words('correct')}.",
    )


def _until(said: Said, text: str | None) -> datetime | None:
    if not text:
        return None
    day, _, hour = text.partition("T")
    try:
        on = date.fromisoformat(day)
        moment = time.fromisoformat(hour) if hour else time(said.showroom.cut_off_hour)
    except ValueError:
        raise _bad_until(text) from None
    if not said.at.date() - FURTHEST <= on <= said.at.date() + FURTHEST:
        raise _bad_until(text)
    until_at = instant(on, moment, said.showroom.tz)
    if until_at <= said.done_at_corrected:
        raise _bad_until(text)
    return until_at


def _bad_until(text: str) -> Refused:
    allowed = "Allowed: a day to come within a year, with or without an hour."
    return Refused("bad_until", f"Until: {text} is no such day.", {"until": allowed})
