"""What today, who, what is late: all that the day board shows, in constant many queries."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.utils.translation import gettext as _

from gallery_ops.drawing import Hours, State, Work
from gallery_ops.kernel.models import Alert, Showroom
from gallery_ops.kernel.queries.alerts import open_alerts
from gallery_ops.kernel.values.day import instant, local
from gallery_ops.overview.brief import Thing, three_things
from gallery_ops.overview.walk_state import TankState, WalkState, walk_state
from maintenance.models import Round
from maintenance.queries.due import DueRow, due_on
from maintenance.queries.held import count_waiting
from maintenance.queries.rota import OnShift, who_works
from maintenance.schedule.lateness import HarmClass, is_in_weekly_list

NO_HOUR = 99.0
HOURS_PER_LETTER = 0.085
"""So long a piece must be that its words fit into it [h a letter]."""
PLACES = 12
"""So many places of a task that can wait are named; the rest is a number."""
PIECES = 5
"""Pieces of work that one person's line shows by name; the rest is one more piece."""


@dataclass(frozen=True, slots=True)
class PersonDay:
    """One line of the day: who, with what skill and zone, and the pieces of work."""

    name: str
    small: str
    works: tuple[Work, ...]


@dataclass(frozen=True, slots=True)
class WhenTime:
    """A task of class D that is open from days before: where, and since when the oldest."""

    name: str
    where: tuple[str, ...]
    more: int
    since_on: date


@dataclass(frozen=True, slots=True)
class Board:
    """The day board."""

    on: date
    walk: WalkState
    things: list[Thing]
    alerts: list[Alert]
    half: list[TankState]
    held: int
    people: list[PersonDay]
    hours: Hours
    due: list[DueRow]
    weekly: list[WhenTime]
    doors_open_at: datetime
    is_before_doors: bool
    opening_from: datetime
    has_begun: bool
    is_late_to_begin: bool
    zones: list[tuple[str, str]]
    counter: str


def day_board(showroom: Showroom, at: datetime) -> Board:
    """Everything that the board says at ``at``."""
    walk = walk_state(showroom, at)
    alerts = list(open_alerts(showroom))
    due = due_on(showroom, walk.on, at)
    shifts = who_works(showroom, walk.on)
    rounds = list(
        Round.objects.of(showroom).filter(business_on=walk.on).select_related("zone", "person")
    )
    opened = [row for row in rounds if row.opened_at is not None]
    doors = instant(walk.on, showroom.opens_at, showroom.tz)
    held = count_waiting(showroom)
    weekly = _weekly(due, walk.on)
    return Board(
        on=walk.on,
        walk=walk,
        things=three_things(alerts),
        alerts=alerts,
        half=[tank for tank in walk.tanks if tank.state is State.HALF],
        held=held,
        people=_people(showroom, walk, shifts, due),
        hours=_hours(showroom, walk.on, shifts, at),
        due=due,
        weekly=weekly,
        doors_open_at=doors,
        is_before_doors=at < doors,
        opening_from=instant(walk.on, showroom.round_from_at, showroom.tz),
        has_begun=bool(opened),
        is_late_to_begin=not opened and at > instant(walk.on, showroom.round_from_at, showroom.tz),
        zones=_zones(shifts, walk),
        counter=_counter(walk, alerts, rounds, held, weekly),
    )


def _counter(
    walk: WalkState, alerts: list[Alert], rounds: list[Round], held: int, weekly: list[WhenTime]
) -> str:
    """Changes whenever anything on the board does; the answer to "is it still the same?"."""
    parts = [str(walk.on), str(held)]
    parts += [f"{t.now.code}{t.done}.{t.skipped}.{t.held}.{t.of}" for t in walk.tanks]
    parts += [f"{a.pk}{a.acknowledged_at}{a.sentence}" for a in alerts]
    parts += [f"{r.code}{r.opened_at}{r.closed_at}" for r in rounds]
    parts += [f"{w.name}{len(w.where) + w.more}" for w in weekly]
    return hashlib.sha256("|".join(parts).encode()).hexdigest()[:20]


def _zones(shifts: list[OnShift], walk: WalkState) -> list[tuple[str, str]]:
    """Zone and the given name of whoever has it today; a zone without anybody has no name."""
    codes = sorted({tank.now.zone_code for tank in walk.tanks if tank.now.zone_code})
    who = {shift.zone_code: shift.name.split()[0] for shift in reversed(shifts)}
    return [(code, who.get(code, "")) for code in codes]


def _weekly(due: list[DueRow], on: date) -> list[WhenTime]:
    """What hurts nobody and is never late, said here and nowhere else, by task."""
    found: dict[str, list[DueRow]] = defaultdict(list)
    for row in due:
        if row.state == "open" and is_in_weekly_list(
            HarmClass(row.task.harm_class), row.task.due_on, on
        ):
            found[row.task.name].append(row)
    return [
        WhenTime(
            name=name,
            where=tuple(row.task.tank_code or row.task.place for row in rows[:PLACES]),
            more=max(0, len(rows) - PLACES),
            since_on=min(row.task.due_on for row in rows),
        )
        for name, rows in sorted(found.items())
    ]


def _hours(showroom: Showroom, on: date, shifts: list[OnShift], at: datetime) -> Hours:
    tz = showroom.tz
    first = min([7.0, *(_hour(shift.from_at, on, tz) for shift in shifts)])
    last = max([20.0, *(_hour(shift.to_at, on, tz) for shift in shifts)])
    now = _hour(at, on, tz)
    return Hours(float(int(first)), float(int(last)), now if first <= now <= last else None)


def _people(
    showroom: Showroom, walk: WalkState, shifts: list[OnShift], due: list[DueRow]
) -> list[PersonDay]:
    """Each person's day: the opening of their zone, then what is due there, one after the other."""
    mine: dict[int, list[DueRow]] = defaultdict(list)
    opened = _seen_at_opening(due, walk.on)
    for row in due:
        if row.task.round_kind == "opening" and row.handed is None:
            continue
        person = _whose(row, shifts)
        if person is not None:
            mine[person.person_id].append(row)
    people = []
    for shift in shifts:
        works = []
        start = _hour(shift.from_at, walk.on, showroom.tz)
        tanks = [t for t in walk.tanks if t.now.zone_code == shift.zone_code and not t.is_empty]
        first_of_zone = next((s for s in shifts if s.zone_code == shift.zone_code), shift) is shift
        if tanks and first_of_zone and start < 10:
            seen = sum(1 for tank in tanks if tank.now.tank.pk in opened)
            words = f"{shift.zone_code}: {seen} / {len(tanks)}"
            long = max((10 + 4 * len(tanks)) / 60, HOURS_PER_LETTER * (len(words) + 3))
            works.append(Work(start, start + long, words, seen / len(tanks)))
            start += long + 0.1
        works += _pieces(mine[shift.person_id], start)
        skill = max((s for s in shift.skills if s.startswith("C")), default="")
        small = ", ".join(
            part for part in (skill, f"zone {shift.zone_code}" if shift.zone_code else "") if part
        )
        people.append(PersonDay(shift.name, small, tuple(works)))
    return people


def _seen_at_opening(due: list[DueRow], on: date) -> set[int]:
    """Tanks whose look of today's opening is done; a look at noon is counted beside noon's."""
    looks = (row.task for row in due if row.state == "done" and row.task.kind == "look")
    mine = (task for task in looks if task.round_kind == "opening" and task.due_on == on)
    return {task.tank_id for task in mine if task.tank_id is not None}


def _pieces(rows: list[DueRow], start: float) -> list[Work]:
    """Pieces of one name are one; each begins when the one before ends, or when it is due."""
    groups: dict[str, list[DueRow]] = defaultdict(list)
    for row in rows:
        groups[row.task.name].append(row)
    works: list[Work] = []
    for name, group in sorted(groups.items(), key=lambda pair: _due_hour(pair[1]))[:PIECES]:
        codes = [row.task.tank_code for row in group if row.task.tank_code]
        words = f"{name} {codes[0]}" if len(codes) == 1 else f"{name}, {len(group)}"
        if all(row.task.paused_by for row in group):
            words = _("%(work)s, paused") % {"work": words}
        hours = float(sum(row.minutes for row in group)) / 60
        long = max(hours, HOURS_PER_LETTER * (len(words) + 3))
        begin = max(start, _due_hour(group) - long) if _due_hour(group) < NO_HOUR else start
        done = sum(1 for row in group if row.state == "done") / len(group)
        works.append(Work(begin, begin + long, words, done))
        start = begin + long + 0.1
    return works


def _due_hour(group: list[DueRow]) -> float:
    times = [row.task.due_time for row in group if row.task.due_time is not None]
    return min((t.hour + t.minute / 60 for t in times), default=NO_HOUR)


def _whose(row: DueRow, shifts: list[OnShift]) -> OnShift | None:
    """Who does it: somebody of its zone who can, else anybody who can."""
    able = [shift for shift in shifts if shift.name in row.who or not row.who]
    if row.handed is not None:
        return next(iter(able), None)
    if row.who:
        able = [shift for shift in shifts if shift.name in row.who]
    zone = [shift for shift in able if shift.zone_code == row.zone_code]
    found = zone or able
    return found[0] if found else None


def _hour(moment: datetime, on: date, tz: object) -> float:
    there = local(moment, tz)  # type: ignore[arg-type]
    days = (there.date() - on) / timedelta(days=1)
    return 24 * days + there.hour + there.minute / 60
