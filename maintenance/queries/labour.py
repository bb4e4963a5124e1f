"""How many minutes do the tasks of the coming weeks ask, as it is and if so? Nothing is saved.

From the templates' planned minutes by size. Tanks that stand here are taken in the stage in which
they are today; a new one begins with its start-up. While closed nothing is given by hand.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day, day_bounds, days
from maintenance.models import Scope, Shift, TaskTemplate
from maintenance.queries.due import minutes_planned
from maintenance.queries.gas_tasks import GAS_CHANGED, GAS_NEXT_DAY
from maintenance.queries.subjects import Ground, Subject, ground
from maintenance.queries.templates import Name, last_done, rule_of, templates_between
from maintenance.schedule.labour import WEEK, Work, minutes_by_day
from maintenance.schedule.occurrences import Life
from tanks.models import Tank

WEEKS = 8
START_UP_DAYS = 42
"""A layout counts as started up after six weeks (common practice, no source)."""
ONCE = frozenset({"gas_ends", GAS_CHANGED, GAS_NEXT_DAY})
"""What is asked once when something happens, and no rhythm tells when."""
BY_HAND = frozenset({"dose", "feed"})


@dataclass(frozen=True, slots=True)
class MoreTanks:
    """So many tanks of this outer volume [L], flooded on a day, with animals from another on."""

    count: int
    outer_l: float
    from_on: date
    fed_from: date


@dataclass(frozen=True, slots=True)
class Week:
    """Seven days from Monday. ``on_rota``: minutes of planned shifts, None when there is none."""

    first: date
    now: Decimal
    then: Decimal
    on_rota: int | None

    @property
    def number(self) -> int:
        """Its number in the calendar (ISO 8601)."""
        return self.first.isocalendar().week


@dataclass(frozen=True, slots=True)
class Labour:
    """The coming weeks both ways.

    ``start_up`` and ``grown`` : minutes that one new tank asks in its first seven days, and in
    seven days once it has started up; both None without one.
    """

    weeks: tuple[Week, ...]
    start_up: Decimal | None = None
    grown: Decimal | None = None

    @property
    def told(self) -> Week:
        """The week that grows most, else the one that shrinks most, the first of them."""
        most = max(self.weeks, key=lambda week: week.then - week.now)
        if most.then > most.now:
            return most
        return min(self.weeks, key=lambda week: week.then - week.now)


@dataclass(frozen=True, slots=True)
class _Ahead:
    """What decides the work of the days ahead."""

    templates: list[TaskTemplate]
    here: Ground
    outer_l: dict[int, float]
    done: dict[Name, date]
    given_not: frozenset[date] = frozenset()

    def works(self, subjects: Iterable[Subject], fed_from: date | None = None) -> list[Work]:
        """Every task of these subjects; ``fed_from`` for tanks that do not stand yet."""
        return [
            self._work(template, subject, fed_from)
            for subject in subjects
            for template in self.templates
            if template.scope == subject.scope
            and template.only_with not in ONCE
            and (subject.scope != Scope.TANK or subject.stage in template.stages)
        ]

    def _work(self, template: TaskTemplate, subject: Subject, fed_from: date | None) -> Work:
        outer_l = self.outer_l.get(subject.tank_id or 0)
        is_new, by_hand = fed_from is not None, template.kind in BY_HAND

        def holds(day: date) -> bool:
            if by_hand and day in self.given_not:
                return False
            if not is_new:
                return self.here.holds(template.only_with, subject, day)
            if subject.since is not None and day < subject.since:
                return False
            return template.only_with != "feed_plan" or day >= (fed_from or day)

        return Work(
            rule=rule_of(template),
            life=Life(
                subject.number,
                subject.since,
                subject.flooded_on,
                self.done.get((template.key, subject.key)),
            ),
            minutes=minutes_planned(template.minutes_by_size, outer_l),
            holds=holds,
        )


def labour(
    showroom: Showroom,
    at: datetime,
    *,
    closed: tuple[date, date] | None = None,
    more: MoreTanks | None = None,
) -> Labour:
    """Eight weeks from the next Monday. Queries do not grow with the fleet.

    closed : first day closed and first day open again, beside the closures that stand.
    """
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    first = today + timedelta(days=7 - today.weekday())
    last = first + WEEKS * WEEK - timedelta(days=1)
    here = ground(showroom, first, last, at, with_gas=False)
    templates = templates_between(showroom, first, last)
    outer_l = _outer_l(showroom)
    now = _Ahead(templates, here, outer_l, last_done(showroom, templates))
    shut = frozenset(
        day for day in days(closed[0], closed[1]) if day < closed[1]
    ) if closed else frozenset()  # fmt: skip
    then = replace(now, given_not=shut)

    def counted(ahead: _Ahead, closed_days: frozenset[date]) -> dict[date, Decimal]:
        works = ahead.works(here.subjects)
        return minutes_by_day(works, first, last, zone=showroom.tz, closed=closed_days)

    as_it_is = counted(now, here.closed)
    if_so = counted(then, here.closed | shut) if shut else dict(as_it_is)
    start_up = grown = None
    if more is not None:
        added, start_up, grown = _added(showroom, then, more, (first, last), here.closed | shut)
        for day, minutes in added.items():
            if_so[day] = if_so.get(day, Decimal(0)) + minutes
    rota = _rota(showroom, first, last)
    weeks = []
    for n in range(WEEKS):
        monday = first + n * WEEK
        seven = list(days(monday, monday + timedelta(days=6)))
        weeks.append(
            Week(
                first=monday,
                now=sum((as_it_is.get(day, Decimal(0)) for day in seven), Decimal(0)),
                then=sum((if_so.get(day, Decimal(0)) for day in seven), Decimal(0)),
                on_rota=rota.get(monday),
            )
        )
    return Labour(tuple(weeks), start_up, grown)


def _added(
    showroom: Showroom,
    ahead: _Ahead,
    more: MoreTanks,
    window: tuple[date, date],
    closed: frozenset[date],
) -> tuple[dict[date, Decimal], Decimal, Decimal]:
    """Minutes of the new tanks by day, and of one of them in its first week and once grown."""
    one = replace(ahead, outer_l={-1: more.outer_l})
    grows = more.from_on + timedelta(days=START_UP_DAYS)
    number = 1 + max((subject.number for subject in ahead.here.subjects), default=0)

    def of_stage(
        stage: str, first: date, last: date, shut: frozenset[date], n: int = number
    ) -> dict[date, Decimal]:
        if last < first:
            return {}
        subject = Subject(
            f"new:{n}", Scope.TANK, n, tank_id=-1, stage=stage,
            since=more.from_on, flooded_on=more.from_on,
        )  # fmt: skip
        works = one.works([subject], more.fed_from)
        return minutes_by_day(works, first, last, zone=showroom.tz, closed=shut)

    out: dict[date, Decimal] = {}
    day_before = timedelta(days=1)
    for n in range(number, number + more.count):
        for found in (
            of_stage("start_up", *window, closed, n) if grows > window[1]
            else of_stage("start_up", window[0], grows - day_before, closed, n),
            of_stage("grow_in", max(window[0], grows), window[1], closed, n),
        ):  # fmt: skip
            for day, minutes in found.items():
                out[day] = out.get(day, Decimal(0)) + minutes
    week = timedelta(days=6)
    none: frozenset[date] = frozenset()
    born = of_stage("start_up", more.from_on, more.from_on + week, none)
    # four weeks of it, so that what comes every second or third week has its part
    later = of_stage("grow_in", grows, grows + 4 * WEEK - day_before, none)
    return out, sum(born.values(), Decimal(0)), sum(later.values(), Decimal(0)) / 4


def _outer_l(showroom: Showroom) -> dict[int, float]:
    """Outer volume of each tank [L]; one query."""
    sides = Tank.objects.of(showroom).values_list("pk", "length_mm", "width_mm", "height_mm")
    return {pk: length * width * height / 1e6 for pk, length, width, height in sides}


def _rota(showroom: Showroom, first: date, last: date) -> dict[date, int]:
    """Minutes of planned shifts by the Monday of their week; one query."""
    start, _ = day_bounds(first, showroom.tz, showroom.cut_off_hour)
    _, end = day_bounds(last, showroom.tz, showroom.cut_off_hour)
    rows = Shift.objects.of(showroom).filter(from_at__gte=start, from_at__lt=end, voided_at=None)
    out: dict[date, int] = {}
    for from_at, to_at in rows.order_by("from_at").values_list("from_at", "to_at"):
        day = business_day(from_at, showroom.tz, showroom.cut_off_hour)
        monday = day - timedelta(days=day.weekday())
        out[monday] = out.get(monday, 0) + round((to_at - from_at).total_seconds() / 60)
    return out
