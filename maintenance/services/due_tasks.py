"""Is every task of the coming days there, once, and none that is no longer due?

The stored due tasks are made equal to the wanted ones: missing ones are inserted (a second worker's
insert is ignored by the unique occurrence), those no longer wanted are dropped, dropped ones that
are wanted again are opened again. Running it twice, at once or late changes nothing more. What was
done or skipped is never touched.

After days on which nothing ran, the days missed are made up for, up to a fortnight: a weekly water
change must not vanish because the machine was off. A tank that is new starts today.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Max, Q

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.day import business_day, days
from maintenance.models import DueTask, TaskTemplate
from maintenance.queries.gas_tasks import GAS_CHANGED, GAS_NEXT_DAY, LOOK_AFTER, WATCHED
from maintenance.queries.subjects import Ground, Subject, ground
from maintenance.queries.templates import Name, last_done, rule_of, templates_between
from maintenance.schedule.lateness import (
    DayRules,
    due_at,
    moved_for_closure,
)
from maintenance.schedule.occurrences import Life, Occurrence, occurrences

DAYS_AHEAD = 7
DAYS_MADE_UP_FOR = 14
_BATCH = 400

Identity = tuple[int, str, str]
"""Template id, subject key, occurrence key: what is unique."""


@dataclass(frozen=True, slots=True)
class Ensured:
    """How many due tasks a run made, opened again and dropped."""

    made: int
    reopened: int
    dropped: int


@dataclass(frozen=True, slots=True)
class _Stored:
    pk: int
    identity: Identity
    name: Name
    due_on: date
    state: str


@dataclass(frozen=True, slots=True)
class _Wanted:
    template: TaskTemplate
    subject: Subject
    occurrence: Occurrence
    due_at: datetime | None = None

    @property
    def identity(self) -> Identity:
        return (self.template.pk, self.subject.key, self.occurrence.rule_on.isoformat())


def ensure(*, showroom: Showroom, at: datetime, days_ahead: int = DAYS_AHEAD) -> Ensured:
    """Make the due tasks of today and the coming days what they should be.

    days_ahead : 0 to 60 [d] beyond today.
    """
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    last = today + timedelta(days=min(max(days_ahead, 0), 60))
    with transaction.atomic():
        starts = _starts(showroom, today)
        first = min(starts.values(), default=today)
        here = ground(showroom, first, last, at)
        templates = templates_between(showroom, first, last)
        stored = _stored(showroom, first)
        plan = _Plan(showroom, here, templates, stored, today)
        wanted = plan.wanted(starts, last)
        result = Ensured(
            made=_make(showroom, plan.missing(wanted)),
            reopened=_set_state(plan.to_reopen(wanted), "dropped", "open"),
            dropped=_set_state(
                plan.to_drop(wanted) | _superseded(showroom, stored, today), "open", "dropped"
            ),
        )
        if result.made or result.reopened or result.dropped:
            want_work(showroom, "overdue", at=at)
    return result


class _Plan:
    """What is wanted, beside what is stored."""

    def __init__(
        self,
        showroom: Showroom,
        here: Ground,
        templates: list[TaskTemplate],
        stored: list[_Stored],
        today: date,
    ) -> None:
        self.showroom = showroom
        self.here = here
        self.templates = templates
        self.stored = {row.identity: row for row in stored}
        self.today = today
        self.settled = {
            (*row.name, row.identity[2]) for row in stored if row.state in ("done", "skipped")
        }
        self.waiting = {row.name: row for row in stored if row.state == "open"}
        self.qualified: set[Name] = set()

    def wanted(self, starts: dict[str, date], last: date) -> dict[Identity, _Wanted]:
        """Every occurrence that should be there, done or not."""
        done = last_done(self.showroom, self.templates)
        found: dict[Identity, _Wanted] = {}
        for template in self.templates:
            for subject in self._subjects(template):
                if self._qualifies(template, subject, last):
                    self.qualified.add((template.key, subject.key))
                first = starts.get(subject.key, self.today)
                for one in self._occurrences(template, subject, first, last, done):
                    found[one.identity] = one
        return found

    def missing(self, wanted: dict[Identity, _Wanted]) -> list[_Wanted]:
        """Wanted, not stored, and not done under an earlier version of the template."""
        return [
            one
            for identity, one in wanted.items()
            if identity not in self.stored
            and (one.template.key, one.subject.key, identity[2]) not in self.settled
        ]

    def to_reopen(self, wanted: dict[Identity, _Wanted]) -> set[int]:
        """Dropped rows of days ahead that are wanted again."""
        return {
            row.pk
            for identity, row in self.stored.items()
            if row.state == "dropped" and identity in wanted and row.due_on >= self.today
        }

    def to_drop(self, wanted: dict[Identity, _Wanted]) -> set[int]:
        """Open rows of a subject that has no such task any more, or of days ahead not wanted."""
        return {
            row.pk
            for identity, row in self.stored.items()
            if row.state == "open"
            and (
                row.name not in self.qualified
                or (row.due_on >= self.today and identity not in wanted)
            )
        }

    def _subjects(self, template: TaskTemplate) -> Iterable[Subject]:
        for subject in self.here.of_scope(template.scope):
            if subject.tank_id is None or subject.stage in template.stages:
                yield subject

    def _qualifies(self, template: TaskTemplate, subject: Subject, last: date) -> bool:
        """Is there such a task at all, today or in the coming days?"""
        ahead = days(self.today, last)
        return any(self.here.holds(template.only_with, subject, day) for day in ahead)

    def _occurrences(
        self,
        template: TaskTemplate,
        subject: Subject,
        first: date,
        last: date,
        last_done: dict[Name, date],
    ) -> Iterable[_Wanted]:
        name = (template.key, subject.key)
        waiting = self.waiting.get(name)
        if template.counts_from == "done" and waiting is not None:
            # One at a time: the open one is the wanted one, whatever the rule would say by now.
            if waiting.identity[0] == template.pk:
                day = date.fromisoformat(waiting.identity[2])
                yield _Wanted(template, subject, Occurrence(day, waiting.due_on))
                return
            if waiting.due_on < self.today:
                return
        if template.only_with == "gas_ends":
            yield from self._when_gas_ends(template, subject, last)
            return
        if template.only_with in {GAS_CHANGED, GAS_NEXT_DAY}:
            yield from self._after_gas_change(template, subject)
            return
        life = Life(subject.number, subject.since, subject.flooded_on, last_done.get(name))
        for occurrence in occurrences(
            rule_of(template), life, first, last, zone=self.showroom.tz, closed=self.here.closed
        ):
            if self.here.holds(template.only_with, subject, occurrence.rule_on):
                yield _Wanted(template, subject, occurrence)

    def _when_gas_ends(
        self, template: TaskTemplate, subject: Subject, last: date
    ) -> Iterable[_Wanted]:
        """One change of the cylinder, on the day by which it must be done, late ones today."""
        ends = self.here.gas_ends.get(subject.tank_id or 0)
        if ends is None or ends > last:
            return
        day, rule = max(ends, self.today), rule_of(template)
        due_on = moved_for_closure(day, rule.harm, rule.shift, self.here.closed)
        yield _Wanted(template, subject, Occurrence(day, due_on))

    def _after_gas_change(self, template: TaskTemplate, subject: Subject) -> Iterable[_Wanted]:
        """Two hours after the change of the cylinder, or on the day after it."""
        changed = self.here.gas_changed.get(subject.tank_id or 0)
        if changed is None:
            return
        tz, cut_off = self.showroom.tz, self.showroom.cut_off_hour
        on = business_day(changed, tz, cut_off)
        if template.only_with == GAS_NEXT_DAY:
            yield _Wanted(template, subject, Occurrence(on, on + timedelta(days=1)))
            return
        look = changed + LOOK_AFTER
        yield _Wanted(template, subject, Occurrence(on, business_day(look, tz, cut_off)), look)


def _starts(showroom: Showroom, today: date) -> dict[str, date]:
    """First day to look at for each subject that has due tasks already; all others start today."""
    oldest = today - timedelta(days=DAYS_MADE_UP_FOR)
    newest = (
        DueTask.objects.of(showroom)
        .filter(due_on__gte=oldest)
        .values_list("subject_key")
        .annotate(newest=Max("due_on"))
        .order_by()
    )
    return {key: min(today, day + timedelta(days=1)) for key, day in newest}


def _stored(showroom: Showroom, first: date) -> list[_Stored]:
    lately = (first - WATCHED).isoformat()
    looks = Q(template__only_with__in=[GAS_CHANGED, GAS_NEXT_DAY], occurrence_key__gte=lately)
    rows = (
        DueTask.objects.of(showroom)
        .filter(Q(occurrence_key__gte=first.isoformat()) | Q(state="open") | looks)
        .values_list(
            "pk", "template_id", "template__key", "subject_key", "occurrence_key", "due_on", "state"
        )
    )
    return [
        _Stored(pk, (template_id, subject, key), (template_key, subject), due_on, state)
        for pk, template_id, template_key, subject, key, due_on, state in rows
    ]


def _superseded(showroom: Showroom, stored: list[_Stored], today: date) -> set[int]:
    """Open rows of days past whose task was done for a later day: looking today makes up for it."""
    past = [row for row in stored if row.state == "open" and row.due_on < today]
    if not past:
        return set()
    done = (
        DueTask.objects.of(showroom)
        .filter(state="done", due_on__gt=min(row.due_on for row in past))
        .values_list("template__key", "subject_key")
        .annotate(newest=Max("due_on"))
        .order_by()
    )
    newest: dict[Name, date] = {(key, subject): due_on for key, subject, due_on in done}
    return {row.pk for row in past if newest.get(row.name, row.due_on) > row.due_on}


def _make(showroom: Showroom, missing: list[_Wanted]) -> int:
    rules = DayRules(showroom.tz, showroom.cut_off_hour)
    rows = [
        DueTask(
            showroom=showroom,
            template=one.template,
            tank_id=one.subject.tank_id,
            zone_id=one.subject.zone_id,
            room_id=one.subject.room_id,
            subject_key=one.subject.key,
            occurrence_key=one.identity[2],
            due_on=one.occurrence.due_on,
            due_at=one.due_at or due_at(one.occurrence.due_on, one.template.due_time, rules),
        )
        for one in missing
    ]
    DueTask.objects.bulk_create(rows, batch_size=_BATCH, ignore_conflicts=True)
    return len(rows)


def _set_state(keys: set[int], before: str, after: str) -> int:
    changed, listed = 0, sorted(keys)
    for start in range(0, len(listed), _BATCH):
        rows = DueTask.objects.filter(pk__in=listed[start : start + _BATCH], state=before)
        if after == "open":
            # What a person let pass ("the tank is empty") stays so until that person takes it back.
            rows = rows.filter(skips__isnull=True)
        changed += rows.update(state=after)
    return changed
