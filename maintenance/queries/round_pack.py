"""Everything a tablet needs to do one round of one zone, in a constant number of queries.

What is found here knows no drawing and no emergency card; ``gallery_ops.overview.round_pack`` adds
those. Last values are hints: they are shown and never sent back.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Epoch, Membership, Showroom
from gallery_ops.kernel.queries.people import members, skills_by_person, skills_of
from inventory.models import Item, LivestockBatch, UsePlan
from inventory.queries.livestock import Head, heads_by_tank
from inventory.queries.plans import planned_for_day
from inventory.queries.supply import feeders
from maintenance.models import DueTask, Round, RoundKind, Stop
from maintenance.queries.gas_tasks import due_clock
from maintenance.queries.handed import handed
from maintenance.queries.handover import line_json, unread_by
from maintenance.queries.pack_handed import handed_here, with_handed
from maintenance.queries.pack_looks import Looks, air_hint
from maintenance.queries.pack_parts import (
    BARE_STOP,
    Bottles,
    dose_json,
    is_asked_on,
    is_photo_asked_on,
    iso,
    of_kind,
)
from maintenance.queries.pack_tasks import late_day, next_dates, planned_then, tasks_of_round
from maintenance.queries.pack_words import (
    looks_json,
    parameters_json,
    reading_text,
    reasons_json,
)
from maintenance.queries.round_entries import entries_of_round, given_today, since_last_shift
from maintenance.queries.rounds import before_json, claims_json
from maintenance.queries.skipped import skipped_last
from maintenance.schedule.lateness import DayRules, HarmClass, late_at
from tanks.models import Reading
from tanks.queries.readings import latest_readings
from tanks.queries.rooms import rooms_air
from tanks.queries.tanks import TankNow, fleet

Json = dict[str, Any]


def round_pack(showroom: Showroom, round_: Round, you: Membership, at: datetime) -> Json:
    """The pack of one round for one person at ``at``; see ``round_pack.schema.json``."""
    return _Pack(showroom, round_, you, at).json()


class _Pack:
    """What was read for one pack; each method is one part of it."""

    def __init__(self, showroom: Showroom, round_: Round, you: Membership, at: datetime) -> None:
        self.showroom, self.round, self.you, self.at = showroom, round_, you, at
        self.on = round_.business_on
        self.rules = DayRules(showroom.tz, showroom.cut_off_hour)
        self.stops = list(
            Stop.objects.filter(round=round_)
            .select_related("tank", "position", "room")
            .order_by("order")
        )
        own = [stop.tank_id for stop in self.stops if stop.tank_id]
        self.handed = handed(showroom, self.on, at=at)
        self.taken_along = handed_here(round_, you, self.handed, own)
        self.stops += self.taken_along.stops
        self.tank_ids = [stop.tank_id for stop in self.stops if stop.tank_id]
        self.room_ids = [stop.room_id for stop in self.stops if stop.room_id]
        self.fleet = fleet(showroom, at)
        self.by_tank = {row.tank.pk: row for row in self.fleet}
        self.tasks = with_handed(self._tasks("tank", own), self.taken_along.tasks)
        self.tasks_of_room = self._tasks("room", self.room_ids) if self.room_ids else {}
        self.planned = {
            **planned_for_day(showroom, self.on, tank_ids=self.tank_ids),
            **planned_then(showroom, self.tasks, self.on),
        }
        self.fed_by_feeder = {
            key[0] for key, planned in self.planned.items() if "feeder" in planned.means
        }
        self.feeders = feeders(showroom, at, self.tank_ids)
        self.bottles = Bottles(
            showroom,
            self.feeders.values(),
            {planned.item_id for planned in self.planned.values() if planned.purpose == "dose"},
        )
        self.items = {
            row.pk: row
            for row in Item.objects.of(showroom).filter(
                pk__in={planned.item_id for planned in self.planned.values()}
            )
        }
        self.plans = UsePlan.objects.of(showroom).in_bulk(
            {planned.plan_id for planned in self.planned.values()}
        )
        self.heads = heads_by_tank(showroom, at)
        self.batch_uids = dict(LivestockBatch.objects.of(showroom).values_list("pk", "uid"))
        self.readings = latest_readings(showroom, self.tank_ids)
        self.given = given_today(round_, self.tank_ids)
        self.last_shift_on, self.since = since_last_shift(showroom, you.person, self.tank_ids, at)
        self.entries = entries_of_round(round_, self.stops)
        self.skipped = skipped_last(showroom, self.tank_ids, self.on)
        self.next_on = self._next_dates()
        self.tests = self._start_up_tests()
        self.looks = Looks(showroom, round_.kind, self.on, at, self.tank_ids)
        self.air = {air.room.pk: air for air in rooms_air(showroom)} if self.room_ids else {}

    def json(self) -> Json:
        """The whole."""
        stop_of_tank = {stop.tank_id: str(stop.uid) for stop in self.stops if stop.tank_id}
        return {
            "schema": 1,
            "epoch": str(epoch.token) if (epoch := Epoch.objects.first()) else "0",
            "made_at": self.at.isoformat(),
            "showroom": {
                "name": self.showroom.name,
                "zone": self.showroom.zone,
                "language": self.showroom.language,
                "decimal_mark": self.showroom.decimal_mark,
                "cut_off_hour": self.showroom.cut_off_hour,
            },
            "round": {
                "id": str(self.round.uid),
                "kind": self.round.kind,
                "name": str(self.round.get_kind_display()).capitalize(),
                "business_date": self.on.isoformat(),
                "zone": _zone(self.round.zone.code),
                "opened_at": iso(self.round.opened_at),
                "closed_at": iso(self.round.closed_at),
                "planned_minutes": None,
            },
            "claims": claims_json(self.round),
            "before": before_json(self.round),
            "you": {
                "person": str(self.you.person.uid),
                "last_shift_on": self.last_shift_on.isoformat() if self.last_shift_on else None,
            },
            "people": self._people(),
            "tanks": [self._tank(row, stop_of_tank) for row in self.fleet if row.position],
            "stops": [self._stop(stop) for stop in self.stops],
            "looks": looks_json(self.showroom.language),
            "parameters": parameters_json(),
            "products": {str(item.uid): {"name": item.name} for item in self.items.values()},
            "reasons": reasons_json(),
            "handover": [line_json(row) for row in unread_by(self.you, self.at)],
            "cards": [],
            "telephones": [
                {"name": row["name"], "number": row["number"], "what": row.get("what", "")}
                for row in self.showroom.telephones
            ],
        }

    def _people(self) -> list[Json]:
        skills = skills_by_person(self.showroom, self.on)
        here = members(self.showroom, self.at).exclude(role="guest_designer")
        return [
            {
                "id": str(row.person.uid),
                "name": row.person.name,
                "role": row.role,
                "skills": sorted(skills.get(row.person_id, ())),
            }
            for row in here
        ]

    def _tank(self, row: TankNow, stop_of_tank: dict[int, str]) -> Json:
        return {
            "code": row.code,
            "title": row.title or None,
            "width_mm": row.tank.length_mm,
            "depth_mm": row.tank.width_mm,
            "height_mm": row.tank.height_mm,
            "stop": stop_of_tank.get(row.tank.pk),
            "state": "empty" if row.layout is None else "to_do",
            "drawing": None,
            "drawing_small": None,
        }

    def _stop(self, stop: Stop) -> Json:
        if stop.room_id is not None:
            return self._room(stop)
        row = self.by_tank.get(stop.tank_id or 0)
        is_empty = row is not None and row.layout is None and row.tank.purpose == "display"
        tasks = self.tasks.get(stop.tank_id or 0, [])
        if row is None or is_empty:
            return {
                **BARE_STOP,
                "id": str(stop.uid),
                "tank": row.code if row else None,
                "name": None if row or stop.position is None else stop.position.name,
                "empty_day": max(1, row.empty_day or 1) if row else None,
                "entries": self.entries.get(str(stop.uid), []),
            }
        doses, feeds = self._gifts(row, tasks)
        own_tools = row.tank.purpose == "quarantine"
        return {
            "id": str(stop.uid),
            "tank": row.code,
            "name": None,
            "empty_day": None,
            "own_tools": own_tools,
            "since": self.since.get(row.tank.pk, [])[:2],
            "tasks": [self._task(task) for task in tasks],
            "check": self.looks.here.check,
            "looks": self._looks(row, own_tools) if of_kind(tasks, "look") else [],
            "readings": self._asked(row, tasks),
            "batches": [self._batch(head) for head in self.heads.get(row.tank.pk, [])],
            "doses": doses,
            "feeds": feeds,
            "asks_photo": self._asks_photo(row, tasks),
            "elsewhere": _zone(self.taken_along.zones.get(stop.pk)),
            "entries": self.entries.get(str(stop.uid), []),
        }

    def _task(self, task: DueTask) -> Json:
        return {
            "id": str(task.uid),
            "code": task.template.kind if task.template.kind != "work" else task.template.key,
            "name": task.template.name,
            "harm": task.template.harm_class,
            "skill": task.template.skill,
            "late_from": iso(
                late_at(
                    HarmClass(task.template.harm_class),
                    late_day(task, self.on),
                    due_clock(task, self.showroom),
                    self.rules,
                )
            ),
            "skipped_last": self.skipped.get((task.tank_id, task.template.key)),
            "next_on": day.isoformat() if (day := self.next_on.get(task.pk)) else None,
            "handed": self._handed(task),
        }

    def _handed(self, task: DueTask) -> Json | None:
        """To whom it was handed, because it needs a skill."""
        one = self.handed.get(task.pk)
        return {"to": str(one.to_uid), "by": one.by, "at": iso(one.at)} if one else None

    def _next_dates(self) -> dict[int, date]:
        flooded = {
            key: row.layout.flooded_on if row.layout else None for key, row in self.by_tank.items()
        }
        tasks = [
            task for of in (self.tasks, self.tasks_of_room) for one in of.values() for task in one
        ]
        return next_dates(self.showroom, tasks, self.on, flooded)

    def _room(self, stop: Stop) -> Json:
        """Doors, valves, floor and air of a room; a reading completes the task that asks for it."""
        tasks = self.tasks_of_room.get(stop.room_id or 0, [])
        by_key = {task.template.key: task for task in tasks}
        asks = self.looks.here.asks
        last = air_hint(self.air.get(stop.room_id or 0))
        return {
            **BARE_STOP,
            "id": str(stop.uid),
            "tank": None,
            "name": stop.room.name if stop.room else None,
            "empty_day": None,
            "tasks": [self._task(task) for task in tasks if task.template.key not in asks.values()],
            "check": self.looks.here.check,
            "looks": self.looks.of_room() if of_kind(tasks, "look") else [],
            "readings": [
                {
                    "parameter": parameter,
                    "why": "each_round",
                    "task": str(by_key[key].uid),
                    "last": last if parameter == "room_co2" else None,
                }
                for parameter, key in asks.items()
                if key in by_key
            ],
            "entries": self.entries.get(str(stop.uid), []),
        }

    def _looks(self, row: TankNow, own_tools: bool) -> list[Json]:
        has = {"gas" if row.layout is not None and row.layout.has_co2 else "no_gas"}
        if own_tools:
            has.add("own_tools")
        if row.tank.pk in self.fed_by_feeder:
            has.add("feeder")
        return self.looks.of_tank(row.tank.pk, frozenset(has), self.readings)

    def _asked(self, row: TankNow, tasks: list[DueTask]) -> list[Json]:
        """Numbers that this stop asks for: each tank once a week on a day nobody can foresee.

        A start-up test that is due today is asked of somebody who is signed off for it; its first
        number completes the test's task.
        """
        if not of_kind(tasks, "look") or self.round.kind != RoundKind.OPENING:
            return []
        asked: list[Json] = []
        if is_asked_on(row.code, self.on):
            asked.append(self._ask(row, "temperature", "random", None))
        test = self.tests.get(row.tank.pk)
        if test is not None:
            asked.append(self._ask(row, "ammonia_n", "start_up", str(test.uid)))
            asked.append(self._ask(row, "nitrite", "start_up", None))
        return asked

    def _asks_photo(self, row: TankNow, tasks: list[DueTask]) -> bool:
        """Once a week a tank, and before the doors open: no visitor stands in the picture."""
        is_opening = self.round.kind == RoundKind.OPENING
        looks = of_kind(tasks, "look") is not None
        return is_opening and looks and is_photo_asked_on(row.code, self.on)

    def _ask(self, row: TankNow, parameter: str, why: str, task: str | None) -> Json:
        last = self.readings.get((row.tank.pk, parameter))
        return {
            "parameter": parameter,
            "why": why,
            "task": task,
            "last": self._hint(last) if last else None,
        }

    def _start_up_tests(self) -> dict[int, DueTask]:
        """Open start-up tests of the day by tank; none for somebody who may not do them."""
        if "C2" not in skills_of(self.you, self.on):
            return {}
        rows = DueTask.objects.of(self.showroom).filter(
            tank_id__in=self.tank_ids,
            due_on=self.on,
            state="open",
            template__key__startswith="start_up_test",
        )
        return {row.tank_id: row for row in rows}

    def _hint(self, reading: Reading) -> Json:
        return {
            "text": reading_text(reading, self.showroom.decimal_mark),
            "value": reading.value,
            "at": reading.done_at_corrected.isoformat(),
            "by": reading.person.given_name,
        }

    def _gifts(self, row: TankNow, tasks: list[DueTask]) -> tuple[list[Json], list[Json]]:
        doses: list[Json] = []
        feeds: list[Json] = []
        for key, planned in self.planned.items():
            if key[0] != row.tank.pk or not planned.amount_base or "hand" not in planned.means:
                continue
            task = of_kind(tasks, {"dose": "dose", "food": "feed"}.get(planned.purpose, ""))
            if task is None:
                continue
            common = {
                "task": str(task.uid),
                "product": str(self.items[planned.item_id].uid),
                "source": None,
                "plan_version": str(self.plans[planned.plan_id].uid),
                "given_today": self.given.get((row.tank.pk, planned.item_id), []),
            }
            if planned.purpose == "dose":
                doses.append({**common, **dose_json(planned, self.feeders.get(key), self.bottles)})
            else:
                feeds.append({**common, "planned_mg": planned.amount_base})
        return doses, feeds

    def _batch(self, head: Head) -> Json:
        return {
            "id": str(self.batch_uids[head.batch_id]),
            "name": head.vernacular_name or head.scientific_name,
            "count": head.count if head.certainty == "counted" else None,
        }

    def _tasks(self, subject: str, keys: list[int]) -> dict[int, list[DueTask]]:
        """The tasks of this kind of round, by tank or by room."""
        return tasks_of_round(self.showroom, self.round.kind, self.on, subject, keys)


def _zone(code: str | None) -> str | None:
    return _("zone %(code)s") % {"code": code} if code else None
