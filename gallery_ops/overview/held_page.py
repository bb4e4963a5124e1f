"""Entries that wait for a person: what was written, why it waits, and what may hold."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from gallery_ops.drawing import TankShape
from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.queries.people import skills_of
from gallery_ops.kernel.rights import may, roles_in_words
from gallery_ops.kernel.values.day import business_day, local
from gallery_ops.overview import held_words as words
from gallery_ops.overview.drawings import shapes
from gallery_ops.overview.held_words import Choice
from inventory.models import Container
from maintenance.actions import settle
from maintenance.actions.context import Names, look_up
from maintenance.actions.envelope import Envelope
from maintenance.models import DueTask, Verdict
from maintenance.queries.held import (
    LET_GO,
    decision_words,
    settled_lately,
    verdict_of,
    waiting_entries,
)
from tanks.models import Tank
from tanks.queries.tanks import TankNow, fleet

MOST = 50
"""So many articles on the page; those behind them come up when these are settled."""
LATELY = 20
CONTENT = 16
"""So many characters of its hash tell two versions of one entry apart."""


@dataclass(slots=True)
class Entry:
    """One entry that waits."""

    verdict: Verdict
    quote: str
    title: str
    harm_class: str
    who: str
    tablet: str
    done_at: datetime
    now: TankNow | None = None
    shape: TankShape | None = None
    task: str = ""
    choices: list[Choice] = field(default_factory=list)

    @property
    def uid(self) -> str:
        """Its id, for the address."""
        return str(self.verdict.action.action_id)

    @property
    def content(self) -> str:
        """Which version of it."""
        return str(self.verdict.action.sha256[:CONTENT])


@dataclass(frozen=True, slots=True)
class Settled:
    """A decision of the last seven days."""

    verdict: Verdict
    quote: str
    tank_code: str
    can_open: bool
    words: str


@dataclass(frozen=True, slots=True)
class HeldPage:
    """Everything that waits, the worst first, and what was settled lately."""

    entries: list[Entry]
    total: int
    oldest_at: datetime | None
    settled: list[Settled]
    may_settle: bool
    may_bring_in: bool


@dataclass(frozen=True, slots=True)
class _Read:
    """Entries with everything that they name, looked up at once."""

    envelopes: Mapping[int, Envelope | None]
    names: Names
    containers: Mapping[str, str]

    def task(self, verdict: Verdict) -> DueTask | None:
        """The task that an entry is about, if it names one of this showroom."""
        said = self.envelopes[verdict.pk]
        if said is None:
            return None
        uid = said.task_id or str(said.body.get("task") or "")
        return self.names.tasks.get(uid.lower())

    def tank(self, verdict: Verdict) -> Tank | None:
        """The tank of its stop, else of its task."""
        said = self.envelopes[verdict.pk]
        stop = self.names.stops.get(said.stop_id.lower()) if said else None
        if stop is not None and stop.tank is not None:
            tank: Tank = stop.tank
            return tank
        task = self.task(verdict)
        return task.tank if task else None

    def quote(self, verdict: Verdict) -> str:
        """What was written."""
        said = self.envelopes[verdict.pk]
        if said is None:
            return str(verdict.action.canonical[: words.LONGEST_RAW])
        return words.quote(said.kind, said.body, self.names, self.containers)


def held_page(showroom: Showroom, by: Membership, at: datetime) -> HeldPage:
    """The page of somebody; in as many queries for one entry as for fifty."""
    waiting = list(waiting_entries(showroom)[:MOST])
    total = len(waiting) if len(waiting) < MOST else waiting_entries(showroom).count()
    lately = list(settled_lately(showroom, at)[:LATELY])
    read = _read(showroom, [*waiting, *lately])
    tanks = {tank.pk for one in [*waiting, *lately] if (tank := read.tank(one)) is not None}
    rows = {row.tank.pk: row for row in fleet(showroom, at, tank_ids=tanks)}
    drawn = shapes(showroom, at, rows.values())
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    skills = skills_of(by, today)
    entries = []
    for verdict in waiting:
        entry = _entry(verdict, read, rows)
        entry.shape = drawn.get(entry.now.code) if entry.now else None
        task = read.task(verdict)
        has_skill = task is None or task.template.skill in {"C1", *skills}
        entry.choices = _choices(entry, by, has_skill)
        entries.append(entry)
    return HeldPage(
        entries=sorted(entries, key=lambda one: one.harm_class),
        total=total,
        oldest_at=min((one.done_at for one in entries), default=None),
        settled=[_settled(one, read, rows) for one in lately],
        may_settle=may(by, "correct"),
        may_bring_in=may(by, "device.enrol"),
    )


def settle_entry(
    *, by: Membership, at: datetime, uid: str, content: str, choice: str, reason: str
) -> str:
    """Do what was chosen; gives the sentence that says what holds now.

    Raises Unknown, and what :mod:`maintenance.actions.settle` refuses.
    """
    verdict = verdict_of(by.showroom, uid, content)
    if choice == "accept":
        said = settle.accept(verdict=verdict, by=by, at=at)
        if said.outcome == "held":
            return _("That is let pass. It waits for one more thing: %(what)s") % {
                "what": said.sentence
            }
        return _("It counts as it was written.")
    if choice == "note":
        read = _read(by.showroom, [verdict])
        told = _("“%(quote)s”, %(who)s; not counted") % {
            "quote": read.quote(verdict), "who": _who(verdict),
        }  # fmt: skip
        settle.keep_as_note(verdict=verdict, words=told, tank=read.tank(verdict), by=by, at=at)
        return _("Kept as a note. Nothing is counted.")
    if choice == "refuse":
        settle.refuse(verdict=verdict, reason=reason, by=by, at=at)
        return _("Not counted. What was written stays readable.")
    if choice == "open":
        settle.open_again(verdict=verdict, by=by, at=at)
        return _("It waits for a person once more.")
    sentence = _("Choose what shall hold.")
    raise Refused("no_choice", sentence, {"choice": sentence})


def _read(showroom: Showroom, verdicts: Iterable[Verdict]) -> _Read:
    envelopes = {one.pk: settle.envelope_of(one.action) for one in verdicts}
    said = [one for one in envelopes.values() if one is not None]
    codes = {str(one.body["container"]) for one in said if one.body.get("container")}
    rows = Container.objects.of(showroom).filter(code__in=codes).select_related("item")
    return _Read(envelopes, look_up(showroom, said), {row.code: str(row) for row in rows})


def _entry(verdict: Verdict, read: _Read, rows: Mapping[int, TankNow]) -> Entry:
    action, task, tank = verdict.action, read.task(verdict), read.tank(verdict)
    name = task.template.name if task else ""
    return Entry(
        verdict=verdict,
        quote=read.quote(verdict),
        title=words.title(verdict.code, verdict.outcome, action.kind, name),
        harm_class=task.template.harm_class if task else words.OF_KIND.get(action.kind, "C"),
        who=_who(verdict),
        tablet=action.device.name if action.device else "",
        done_at=action.done_at_corrected or action.entered_at,
        now=rows.get(tank.pk) if tank else None,
        task=name,
    )


def _who(verdict: Verdict) -> str:
    person: Any = verdict.action.person
    return str(person.name) if person else _("nobody known here")


def _choices(entry: Entry, by: Membership, has_skill: bool) -> list[Choice]:
    """What may hold, in the order of reading; none is chosen before."""
    verdict = entry.verdict
    out = []
    right = settle.right_to_accept(verdict)
    if right is not None:
        moment = local(entry.done_at, by.showroom.tz)
        name, told = words.effect(verdict.code, date_format(moment, "D H:i"), by.person.name)
        lacking = "" if may(by, right) else roles_in_words(right)
        if verdict.code == "wrong_skill" and not has_skill:
            lacking = _("somebody who is signed off for it")
        out.append(Choice("accept", name, told, who_may=lacking))
    lacking = "" if may(by, "correct") else roles_in_words("correct")
    stays = _("Nothing is counted; the task stays due") if entry.task else _("Nothing is counted")
    out.append(Choice("note", _("Keep as a note"), stays, who_may=lacking))
    slip = _("Nothing is counted, and no note is made")
    out.append(Choice("refuse", _("It was a slip"), slip, asks_reason=True, who_may=lacking))
    return out


def _settled(verdict: Verdict, read: _Read, rows: Mapping[int, TankNow]) -> Settled:
    tank = read.tank(verdict)
    now = rows.get(tank.pk) if tank else None
    return Settled(
        verdict,
        read.quote(verdict),
        now.code if now else "",
        verdict.outcome in LET_GO,
        decision_words(verdict),
    )
