"""What is due today, for whom, and why? And what is open, whenever it was due?

Each answer takes the same number of queries for one tank and for two thousand.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from django.db.models import Q, QuerySet

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from maintenance.models import DueTask
from maintenance.queries.gas_tasks import due_clock
from maintenance.queries.handed import Handed, handed
from maintenance.queries.incidents import open_incidents
from maintenance.queries.rota import OnShift, who_works
from maintenance.schedule.lateness import DayRules, HarmClass, is_in_weekly_list, is_late
from maintenance.schedule.task_catalogue import minutes_for
from tanks.queries.tanks import TankNow, fleet

NOWHERE = (1, 0, 0, "")
Paused = Callable[[int | None, int | None], str]


@dataclass(frozen=True, slots=True)
class OpenTask:
    """A due task that is not done, with what decides how late it is.

    paused_by : the emergency during which it rests, such as "Gas in the room, 08:06".
    """

    uid: str
    template_key: str
    name: str
    kind: str
    subject_key: str
    tank_id: int | None
    tank_code: str
    place: str
    round_kind: str
    harm_class: str
    skill: str
    due_on: date
    due_time: time | None
    due_at: datetime
    rests_until_at: datetime | None
    zone_name: str
    walk_order: tuple[int, int, int, str] = NOWHERE
    paused_by: str = ""

    def rests(self, at: datetime) -> bool:
        """Put off by a skip until later than `at`, or paused by an emergency that is open."""
        if self.paused_by:
            return True
        return self.rests_until_at is not None and self.rests_until_at > at


@dataclass(frozen=True, slots=True)
class DueRow:
    """One task of a day. who : people on shift for it, who have the skill. why : its rule.

    handed : to whom somebody handed it, because it needs a skill; then `who` is that person alone.
    """

    task: OpenTask
    state: str
    minutes: Decimal
    title: str
    zone_code: str
    is_late: bool
    who: tuple[str, ...]
    rule: str
    counts_from: str
    day_of_layout: int | None
    handed: Handed | None = None

    @property
    def needs_skill_not_here(self) -> bool:
        """Nobody on shift for it has its skill."""
        return not self.who


def open_tasks(showroom: Showroom, at: datetime) -> list[OpenTask]:
    """Open tasks due until the end of today's business day, worst class first. 8 queries."""
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    rows = _rows(showroom).filter(state="open", due_on__lte=today)
    tanks = {row.tank.pk: row for row in fleet(showroom, at)}
    paused = _paused(showroom, tanks)
    return sorted((_open(showroom, row, tanks, paused) for row in rows), key=_order)


def due_on(showroom: Showroom, day: date, at: datetime) -> list[DueRow]:
    """What is due on this business day, done or not, and what is open from days before.

    Worst class first, then by time, then in walking order. 12 queries, 14 where one is handed over.
    """
    wanted = Q(due_on=day) & ~Q(state="dropped") | Q(state="open", due_on__lt=day)
    tanks = {row.tank.pk: row for row in fleet(showroom, at)}
    shifts = who_works(showroom, day)
    paused = _paused(showroom, tanks)
    found = _rows(showroom).filter(wanted)
    given = handed(showroom, day, at=at)
    rows = [_due(showroom, row, tanks, shifts, at, paused, given.get(row.pk)) for row in found]
    return sorted(rows, key=lambda row: _order(row.task))


def weekly_list(showroom: Showroom, at: datetime) -> list[OpenTask]:
    """Tasks of class D due before today and still open: said here and nowhere else."""
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    return [
        task
        for task in open_tasks(showroom, at)
        if is_in_weekly_list(HarmClass(task.harm_class), task.due_on, today)
    ]


def due_of_tank(showroom: Showroom, tank_id: int, first: date, last: date) -> list[DueTask]:
    """Due tasks of one tank from first to last, both included, with their templates; one query."""
    rows = _rows(showroom).filter(tank_id=tank_id, due_on__gte=first, due_on__lte=last)
    return list(rows.exclude(state="dropped").order_by("due_at", "template__key"))


def minutes_planned(stored: dict[str, Any], outer_volume_l: Decimal | float | None) -> Decimal:
    """Planned minutes from a template's `minutes_by_size`, for a tank of this outer volume [L]."""
    minutes = tuple(Decimal(text) for text in stored.get("minutes", []))
    if not minutes:
        return Decimal(0)
    return minutes_for(minutes, tuple(stored.get("up_to_l", [])), outer_volume_l)


def _rows(showroom: Showroom) -> QuerySet[Any]:
    found: QuerySet[Any] = DueTask.objects.of(showroom).select_related("template", "zone", "room")
    return found


def _paused(showroom: Showroom, tanks: dict[int, TankNow]) -> Paused:
    """Tank and room -> the words of the emergency that stops them. One query."""
    stopping = [one for one in open_incidents(showroom, showroom.language) if not one.is_drill]
    rooms = {key: row.position.room_id for key, row in tanks.items() if row.position}

    def words(tank_id: int | None, room_id: int | None) -> str:
        room_id = room_id or rooms.get(tank_id or 0)
        by = next((one for one in stopping if one.holds(tank_id, room_id)), None)
        return f"{by.name}, {by.opened_at.astimezone(showroom.tz):%H:%M}" if by else ""

    return words


def _open(showroom: Showroom, row: Any, tanks: dict[int, TankNow], paused: Paused) -> OpenTask:
    tank = tanks.get(row.tank_id) if row.tank_id else None
    template = row.template
    return OpenTask(
        uid=str(row.uid),
        template_key=template.key,
        name=template.name,
        kind=template.kind,
        subject_key=row.subject_key,
        tank_id=row.tank_id,
        tank_code=tank.code if tank else "",
        place=_place(row),
        round_kind=template.round_kind,
        harm_class=template.harm_class,
        skill=template.skill,
        due_on=row.due_on,
        due_time=due_clock(row, showroom),
        due_at=row.due_at,
        rests_until_at=row.rests_until_at,
        zone_name=showroom.zone,
        walk_order=_walk_order(tank),
        paused_by=paused(row.tank_id, row.room_id) if row.state == "open" else "",
    )


def _due(
    showroom: Showroom,
    row: Any,
    tanks: dict[int, TankNow],
    shifts: list[OnShift],
    at: datetime,
    paused: Paused,
    given: Handed | None,
) -> DueRow:
    task = _open(showroom, row, tanks, paused)
    tank = tanks.get(row.tank_id) if row.tank_id else None
    rules = DayRules(showroom.tz, showroom.cut_off_hour)
    harm = HarmClass(task.harm_class)
    is_open = row.state == "open" and not task.rests(at)
    zone_code = (tank.zone_code if tank else "") or (row.zone.code if row.zone else "")
    return DueRow(
        task=task,
        state=row.state,
        minutes=minutes_planned(
            row.template.minutes_by_size, Decimal(str(tank.volumes.outer_l)) if tank else None
        ),
        title=tank.title if tank else "",
        zone_code=zone_code,
        is_late=is_open and is_late(harm, task.due_on, task.due_time, rules, at),
        who=(given.to,)
        if given
        else tuple(shift.name for shift in _able(shifts, zone_code, task.skill)),
        rule=row.template.rule,
        counts_from=row.template.counts_from,
        day_of_layout=tank.day if tank else None,
        handed=given,
    )


def _able(shifts: Iterable[OnShift], zone_code: str, skill: str) -> Iterable[OnShift]:
    seen: set[int] = set()
    for shift in shifts:
        if shift.person_id in seen or not shift.can(skill):
            continue
        if not zone_code or not shift.zone_code or shift.zone_code == zone_code:
            seen.add(shift.person_id)
            yield shift


def _place(row: Any) -> str:
    if row.zone_id:
        return str(row.zone.code)
    return str(row.room.name) if row.room_id else ""


def _walk_order(tank: TankNow | None) -> tuple[int, int, int, str]:
    if tank is None or tank.position is None:
        return (1, 0, 0, tank.code if tank else "")
    position = tank.position
    return (0, position.room.walking_order, position.walking_order, tank.code)


def _order(task: OpenTask) -> tuple[str, datetime, tuple[int, int, int, str], str]:
    return (task.harm_class, task.due_at, task.walk_order, task.name)
