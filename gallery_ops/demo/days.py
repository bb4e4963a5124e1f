"""Ninety days at Undershore, one after the other, by the services that a tablet would call."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, time, timedelta

from django.db import connection, transaction

from gallery_ops.demo import stock as books
from gallery_ops.demo.buying import Buying
from gallery_ops.demo.gas_vans import GasVans
from gallery_ops.demo.house import House
from gallery_ops.demo.luck import Luck
from gallery_ops.demo.mishaps import (
    GAS_LOSS_DAYS,
    GAS_LOSS_TANK,
    GAS_LOSS_TIMES,
    WEAK_PRESS_DAYS,
    Mishaps,
)
from gallery_ops.demo.shelves import TUBS
from gallery_ops.demo.stock import CHANGE_AT, HISTORY_DAYS, Stock, weigh
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.forecast.press import CUP_ABOVE_UL
from inventory.models import Container, MovementKind, SupplyPurpose, UsePlan
from inventory.queries.plans import planned_by, planned_for_day, plans_in_force
from inventory.services import calibration, containers, decant, use
from maintenance.models import DueTask, Round
from maintenance.services import due_tasks
from maintenance.services.completions import Claim, complete_all
from maintenance.services.observations import observe
from maintenance.services.rota import plan_shift
from maintenance.services.rounds import begin_round, close_round, ensure_rounds
from maintenance.services.skips import skip
from maintenance.services.walked import complete_walked
from tanks.services.readings import record_reading
from tanks.services.rooms import check_room_air

COUNT_ROWS_EVERY = 6
"""After so many days [d]."""
AIR_DAYS = 14
SKIP_ONE_IN = 70
REFILL_BELOW_UL = 230_000
REFILL_UL = 700_000
PRESS_A_UL = 924
PRESS_B_UL = 996
NOTES = (
    "leaves on the surface taken off",
    "glass wiped, green dust on the left",
    "two stems floated up, planted again",
    "outflow turned a little to the left",
    "snails counted by eye, more than last week",
)


@dataclass(slots=True)
class _Walk:
    """What somebody did on one walk, written down at its end."""

    who: Membership
    done: list[Claim] = field(default_factory=list)
    given: list[use.Deed] = field(default_factory=list)


@dataclass(slots=True)
class Days:
    """The walk through the days: the house, its stock, the luck, and what is wrong."""

    house: House
    stock: Stock
    luck: Luck
    mishaps: Mishaps
    buying: Buying
    gas_vans: GasVans

    def run(self, until: int = 0) -> None:
        """From ninety days ago until the evening before the day that is so many days ago."""
        for days_ago in range(HISTORY_DAYS, until, -1):
            with transaction.atomic():
                self._day(days_ago)
            if days_ago % COUNT_ROWS_EVERY == 0:
                _count_rows()

    def _day(self, days_ago: int) -> None:
        self._deliveries(days_ago)
        self._refills(days_ago)
        at = self.house.at(days_ago, time(6, 30))
        due_tasks.ensure(showroom=self.house.showroom, at=at, days_ahead=0)
        rounds = ensure_rounds(showroom=self.house.showroom, on=at.date(), at=at)
        self._opening([r for r in rounds if r.kind == "opening"], days_ago)
        self._rest([r for r in rounds if r.kind != "opening"], days_ago)
        self._gas(days_ago)
        self._scales(days_ago)

    def carer(self, zone: str, at: datetime) -> Membership:
        """Who walks this zone on that day."""
        weekend = at.weekday() >= 5
        names = {"A": ("bram", "odile"), "B": ("odile", "pia")}[zone]
        return self.house.people[names[1] if weekend else names[0]]

    def _opening(self, rounds: list[Round], days_ago: int) -> None:
        day = self.house.on - timedelta(days=days_ago)
        planned: dict[int, list[UsePlan]] = {}
        for plan in plans_in_force(self.house.showroom, day):
            planned.setdefault(plan.tank_id, []).append(plan)
        tasks: dict[int | None, list[DueTask]] = {}
        for task in _in_order(
            DueTask.objects.of(self.house.showroom)
            .filter(due_on=day, template__round_kind="opening", state="open", tank__isnull=False)
            .select_related("template", "tank__showroom", "showroom")
        ):
            tasks.setdefault(task.tank_id, []).append(task)
        for round_ in rounds:
            at = self.house.at(days_ago, time(7, 2))
            who = self.carer(round_.zone.code, at)
            begin_round(round_=round_, by=who, at=at)
            walk = _Walk(who)
            for stop in round_.stops.all():
                pace = self.luck.of("pace", self.house.code_of(stop.tank_id), days_ago)
                at += timedelta(seconds=pace.randint(110, 260))
                mine = tasks.get(stop.tank_id, [])
                self._stop(mine, planned.get(stop.tank_id, []), days_ago, walk, at)
            use.use_all(walk.given)
            complete_all(walk.done)
            close_round(round_=round_, by=who, at=at + timedelta(minutes=3))

    def _stop(
        self,
        tasks: Iterable[DueTask],
        planned: Iterable[UsePlan],
        days_ago: int,
        walk: _Walk,
        at: datetime,
    ) -> None:
        who = walk.who
        for task in tasks:
            kind = task.template.kind
            is_short = self._luck_of(task).randrange(SKIP_ONE_IN) == 0 and days_ago > 1
            if kind in {"dose", "feed"} and is_short:
                skip(due_task=task, reason="short_of_time", by=who, at=at)
                continue
            walk.done.append(Claim(task, who, at))
            if kind == "look":
                self._look(task, who, at)
            for plan in planned:
                amount = planned_by(plan, task.due_on)
                if amount and kind == "dose" and plan.purpose == "dose":
                    walk.given += self._dose(task, plan, amount, who, at)
                elif amount and kind == "feed" and plan.purpose == "food":
                    walk.given += self._feed(task, plan, amount, who, at)

    def _look(self, task: DueTask, who: Membership, at: datetime) -> None:
        tank, luck = task.tank, self._luck_of(task, "seen")
        if tank is None:
            return
        if luck.random() < 0.2:
            value = f"{luck.gauss(24.1, 0.25):.1f}"
            record_reading(tank=tank, parameter="temperature", text=value, by=who, at=at)
        if luck.random() < 0.1:
            for key, word in (("floor", "dry"), ("water_level", "to_mark"), ("outflow", "strong")):
                record_reading(tank=tank, parameter=key, text=word, by=who, at=at)
            record_reading(tank=tank, parameter="drop_checker", text="blue", by=who, at=at)
            record_reading(tank=tank, parameter="bubbles", text="2", by=who, at=at)
        if luck.random() < 0.02:
            observe(
                showroom=tank.showroom,
                kind="note",
                tank=tank,
                text=luck.choice(NOTES),
                by=who,
                at=at,
            )

    def _dose(
        self, task: DueTask, plan: UsePlan, planned_ul: int, who: Membership, at: datetime
    ) -> Iterator[use.Deed]:
        tank, item = task.tank, self.stock.fertiliser
        if tank is None:
            return
        zone = self.house.zone_of[self.house.code_of(tank.pk)]
        bottle = self.stock.bottles[zone]
        deed = use.Deed(tank, item, SupplyPurpose.DOSE, who, at, plan=plan, container=bottle)
        if planned_ul > CUP_ABOVE_UL:
            yield replace(deed, given=Volume(planned_ul))
            really = planned_ul * self._luck_of(task, "given").gauss(1.0, 0.02)
        else:
            presses = planned_ul // 1_000
            yield replace(deed, presses=presses)
            per_press = PRESS_A_UL if zone == "A" and self.mishaps.weak_press else PRESS_B_UL
            really = presses * per_press * self._luck_of(task, "given").gauss(1.0, 0.015)
        self.stock.truth[bottle.pk] -= really

    def _feed(
        self, task: DueTask, plan: UsePlan, planned_mg: int, who: Membership, at: datetime
    ) -> Iterator[use.Deed]:
        tank, tub, food = task.tank, self.stock.tub, self.stock.food
        if tank is None or tub is None:
            return
        deed = use.Deed(tank, food, SupplyPurpose.FOOD, who, at, plan=plan, container=tub)
        yield replace(deed, given=Mass(planned_mg))
        self.stock.truth[tub.pk] -= planned_mg * self._luck_of(task, "given").gauss(1.0, 0.08)

    def _luck_of(self, task: DueTask, what: str = "done") -> random.Random:
        """Chance of one due task: the same whatever its row is called in this database."""
        tank = self.house.code_of(task.tank_id) if task.tank_id else ""
        where = tank or getattr(task.zone, "code", "") or getattr(task.room, "name", "")
        return self.luck.of(what, task.template.key, where, task.occurrence_key)

    def _rest(self, rounds: list[Round], days_ago: int) -> None:
        """Midday, closing, and the work between them; a little of it is left for tomorrow."""
        day = self.house.on - timedelta(days=days_ago)
        for round_ in rounds:
            clock = time(13) if round_.kind == "midday" else time(18, 40)
            who = self.carer(round_.zone.code, self.house.at(days_ago))
            begin_round(round_=round_, by=who, at=self.house.at(days_ago, clock))
            done = self.house.at(days_ago, clock) + timedelta(minutes=14)
            self._room_air(round_, days_ago, who, done)
            complete_walked(round_=round_, by=who, at=done)
            close_round(round_=round_, by=who, at=done)
        open_tasks = _in_order(
            DueTask.objects.of(self.house.showroom)
            .filter(due_on__lte=day, state="open")
            .filter(template__round_kind="")
            .select_related("template", "showroom", "zone", "room")
        )
        done_today: list[Claim] = []
        for n, task in enumerate(open_tasks):
            skilled = task.template.skill in {"C3", "D"}
            who = self.house.people["iskra" if skilled else "odile"]
            if task.template.skill == "T" or (
                days_ago > 1 and self._luck_of(task, f"left {days_ago}").random() < 0.06
            ):
                continue
            clock = time(9 + (n // 6) % 9, (n * 7) % 60)
            done_today.append(Claim(task, who, self.house.at(days_ago, clock)))
        complete_all(done_today)

    def _room_air(self, round_: Round, days_ago: int, who: Membership, at: datetime) -> None:
        """What the meters of the rooms showed at night, of the last two weeks."""
        if days_ago > AIR_DAYS:
            return
        for stop in round_.stops.filter(room__isnull=False).select_related("room__showroom"):
            ppm = round(self.luck.of("air", stop.room.name, days_ago).gauss(560, 40))
            check_room_air(room=stop.room, co2_ppm=ppm, by=who, at=at)

    def _deliveries(self, days_ago: int) -> None:
        self.buying.day(days_ago)
        self.gas_vans.day(days_ago)
        if days_ago in TUBS:
            self._new_tub(days_ago)
        if days_ago == WEAK_PRESS_DAYS:
            self._calibrate(days_ago)

    def _new_tub(self, days_ago: int) -> None:
        old = self.stock.tub
        self.stock.tub = self.buying.open_tub(days_ago)
        if old is not None:
            containers.finish(
                container=old,
                kind=MovementKind.WASTE,
                reason="the rest of an old tub",
                by=self.house.people["odile"],
                at=self.house.at(days_ago, time(6, 5)),
            )

    def _calibrate(self, days_ago: int) -> None:
        each_ul = PRESS_A_UL if self.mishaps.weak_press else PRESS_B_UL
        mass = Mass(round(20 * each_ul * books.DENSITY / 1_000 / 100) * 100)
        calibration.record_press_calibration(
            container=self.stock.bottles["A"],
            presses=20,
            mass=mass,
            by=self.house.people["odile"],
            at=self.house.at(days_ago, time(6, 10)),
        )

    def _refills(self, days_ago: int) -> None:
        for zone, bottle in self.stock.bottles.items():
            if self.stock.truth[bottle.pk] > REFILL_BELOW_UL:
                continue
            who = self.carer(zone, self.house.at(days_ago))
            can = self._can(days_ago)
            if can is None:
                continue
            amount = min(REFILL_UL, round(self.stock.truth[can.pk]) - 20_000)
            at = self.house.at(days_ago, time(6, 20))
            decant.decant(source=can, into=bottle, amount=Volume(amount), by=who, at=at)
            self.stock.truth[can.pk] -= amount
            self.stock.truth[bottle.pk] += amount

    def _can(self, days_ago: int) -> Container | None:
        """The oldest can that still holds something; an empty one is finished."""
        for can in list(self.stock.cans):
            if self.stock.truth[can.pk] >= 60_000:
                return can
            containers.finish(
                container=can,
                by=self.house.people["odile"],
                at=self.house.at(days_ago, time(6, 15)),
            )
            self.stock.cans.remove(can)
        return None

    def _gas(self, days_ago: int) -> None:
        day = self.house.on - timedelta(days=days_ago)
        pairs = planned_for_day(self.house.showroom, day, purpose="gas")
        for (tank_id, _purpose, _item), row in pairs.items():
            code = self.house.code_of(tank_id)
            cylinder = self.stock.cylinders.get(code)
            if cylinder is None:
                continue
            times = self.stock.factor[code] * self.luck.of("valve", code, days_ago).gauss(1.0, 0.04)
            if self.mishaps.gas_loss and code == GAS_LOSS_TANK and days_ago <= GAS_LOSS_DAYS:
                times = GAS_LOSS_TIMES
            self.stock.truth[cylinder.pk] -= row.amount_base * times
            grams = int(self.house.fleet[code]["cyl_g"])
            rest = self.stock.truth[cylinder.pk] - grams * 1_000 * CHANGE_AT
            self.gas_vans.order_ahead(code, grams, rest / (row.amount_base or 1), days_ago)
            self._exchange(code, cylinder, days_ago)

    def _exchange(self, code: str, cylinder: Container, days_ago: int) -> None:
        grams = int(self.house.fleet[code]["cyl_g"])
        if self.stock.truth[cylinder.pk] > grams * 1_000 * CHANGE_AT or days_ago < 2:
            return
        weigh(self.house, self.stock, cylinder, days_ago, time(14), self.luck)
        fresh = self.gas_vans.exchange(code, cylinder, grams, days_ago)
        self.stock.cylinders[code] = fresh
        self.stock.truth[fresh.pk] = grams * 1_000.0
        weigh(self.house, self.stock, fresh, days_ago, time(15), self.luck)

    def _scales(self, days_ago: int) -> None:
        """Small cylinders and bottles every week, large ones every second; T16 more often."""
        clock = time(17, 10)
        monday = (self.house.on - timedelta(days=days_ago)).weekday() == 0
        if monday:
            for bottle in [*self.stock.bottles.values(), *self.stock.cans]:
                weigh(self.house, self.stock, bottle, days_ago, clock, self.luck)
        if monday and self.stock.tub is not None:
            weigh(self.house, self.stock, self.stock.tub, days_ago, clock, self.luck)
        lately = days_ago in {10, 8, 7, 5, 4, 3, 2, 1}
        for n, (code, cylinder) in enumerate(sorted(self.stock.cylinders.items())):
            is_small = int(self.house.fleet[code]["cyl_g"]) <= 500
            week = ((self.house.on - timedelta(days=days_ago)).toordinal() // 7) % 2
            turn = monday and (is_small or week == n % 2)
            if turn or (code == GAS_LOSS_TANK and lately):
                weigh(self.house, self.stock, cylinder, days_ago, clock, self.luck)


def _in_order(tasks: Iterable[DueTask]) -> list[DueTask]:
    """In the same order on every database: no two sort text alike, and keys begin anywhere."""
    return sorted(
        tasks,
        key=lambda task: (
            task.due_at,
            task.template.key,
            task.tank_id or 0,
            task.zone_id or 0,
            task.room_id or 0,
        ),
    )


def _count_rows() -> None:
    """Let PostgreSQL see how tables have grown; by itself it looks too late for so quick a past."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


def plan_rota(house: House) -> None:
    """Shifts of the last two weeks and of the coming one."""
    for days_ago in range(14, -8, -1):
        day = house.on - timedelta(days=days_ago)
        for login, works in house.works.items():
            if works["weekdays"][day.weekday()] != "1":
                continue
            plan_shift(
                showroom=house.showroom,
                person=house.people[login].person,
                from_at=house.at(days_ago, time.fromisoformat(works["from"])),
                to_at=house.at(days_ago, time.fromisoformat(works["to"])),
                zone=house.zones[works["zone"]],
                by=house.people["iskra"],
                at=house.at(max(days_ago, 1) + 1, time(12)),
            )
