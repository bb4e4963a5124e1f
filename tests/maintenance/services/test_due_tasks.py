"""The job that makes due tasks: complete, once each, also run twice, at once or late.

Which task is due when: common practice, no source; the dates follow from the rules of the catalogue
on the Gregorian calendar. 9 March 2026 is a Monday.
"""

from __future__ import annotations

import threading
from collections import Counter
from datetime import date, time, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.models import Closure
from gallery_ops.kernel.values.quantity import Volume
from inventory.services.plans import PlanLine, set_plan, stop_plans
from maintenance.models import Completion, DueTask, Skip, TaskTemplate
from maintenance.services.due_tasks import ensure
from maintenance.services.templates import change_template, stop_template
from tanks.services.layouts import close_layout
from tanks.services.stages import advance_stage
from tests.maintenance.house import FIRST_DAY, House, a_house, a_tank, day, on

pytestmark = pytest.mark.django_db


def open_days(house: House, key: str, code: str = "") -> list[date]:
    rows = DueTask.objects.of(house.showroom).filter(template__key=key, state="open")
    if code:
        rows = rows.filter(tank=house.tanks[code])
    return list(rows.order_by("due_on").values_list("due_on", flat=True))


def finish(house: House, key: str, due_on: date, code: str, done_on: date | None = None) -> None:
    """What the service of completions leaves behind."""
    row = DueTask.objects.get(template__key=key, due_on=due_on, tank=house.tanks[code])
    moment = on(done_on or due_on, "08:30")
    Completion.objects.create(
        showroom=house.showroom, due_task=row, person=house.owner.person,
        done_at=moment, done_at_corrected=moment, entered_at=moment,
    )  # fmt: skip
    DueTask.objects.filter(pk=row.pk).update(state="done")


@pytest.fixture
def house() -> House:
    made = a_house()
    a_tank(made, "T01")
    return made


def test_the_opening_stop_of_a_tank_is_due_on_each_of_the_coming_days(house: House) -> None:
    ensure(showroom=house.showroom, at=on(FIRST_DAY))
    week = [day(offset) for offset in range(8)]
    for key in ("look", "feed", "dose"):
        assert open_days(house, key, "T01") == week
    assert open_days(house, "midday_look") == week
    look = DueTask.objects.get(template__key="look", due_on=FIRST_DAY)
    assert look.due_at == on(FIRST_DAY, "09:00")
    assert (look.subject_key, look.occurrence_key) == (f"tank:{look.tank_id}", "2026-03-09")


def test_weekly_tasks_fall_on_one_day_and_the_weighing_on_tuesday(house: House) -> None:
    ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=6)
    (change,) = open_days(house, "water_change", "T01")
    assert change.weekday() in (0, 1, 2, 3)
    assert open_days(house, "weigh_small") == [date(2026, 3, 10)]
    assert open_days(house, "outside_glass", "T01") == [date(2026, 3, 13)]


def test_running_it_twice_changes_nothing(house: House) -> None:
    first = ensure(showroom=house.showroom, at=on(FIRST_DAY))
    before = sorted(DueTask.objects.values_list("pk", "state"))
    second = ensure(showroom=house.showroom, at=on(FIRST_DAY, "08:05"))
    assert first.made == len(before) > 20
    assert (second.made, second.reopened, second.dropped) == (0, 0, 0)
    assert sorted(DueTask.objects.values_list("pk", "state")) == before


def test_the_next_day_adds_one_day(house: House) -> None:
    ensure(showroom=house.showroom, at=on(FIRST_DAY))
    ensure(showroom=house.showroom, at=on(day(1)))
    assert open_days(house, "look", "T01") == [day(offset) for offset in range(9)]


def test_the_business_day_begins_at_the_cut_off(house: House) -> None:
    ensure(showroom=house.showroom, at=on(day(1), "03:59"), days_ahead=0)
    assert open_days(house, "look") == [FIRST_DAY]
    ensure(showroom=house.showroom, at=on(day(1), "04:00"), days_ahead=0)
    assert open_days(house, "look") == [FIRST_DAY, day(1)]


def test_an_empty_tank_has_no_care_due(house: House) -> None:
    a_tank(house, "T09", stage="")
    ensure(showroom=house.showroom, at=on(FIRST_DAY))
    assert not DueTask.objects.filter(tank=house.tanks["T09"]).exists()


def test_care_stops_when_a_tank_is_emptied_and_what_was_done_stays(house: House) -> None:
    ensure(showroom=house.showroom, at=on(FIRST_DAY))
    finish(house, "look", FIRST_DAY, "T01")
    close_layout(layout=house.layouts["T01"], by=house.owner, at=on(day(1), "12:00"))
    ensure(showroom=house.showroom, at=on(day(1), "12:01"))
    rows = DueTask.objects.filter(tank=house.tanks["T01"])
    assert Counter(rows.values_list("state", flat=True))["open"] == 0
    assert list(rows.filter(state="done").values_list("due_on", flat=True)) == [FIRST_DAY]


def test_a_start_up_tank_gets_tests_and_changes_by_its_own_day(house: House) -> None:
    # Day 5 on 14 March, as counted from flooding on the 9th.
    a_tank(house, "T14", stage="start_up", flooded_on=FIRST_DAY, dose_ml=0, food_mg=0)
    ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=20)
    assert open_days(house, "start_up_test_1", "T14") == [day(n) for n in (1, 3, 5, 7)]
    assert open_days(house, "start_up_test_2", "T14") == [day(n) for n in (10, 14)]
    assert open_days(house, "start_up_change_1", "T14") == [day(n) for n in range(1, 8)]
    assert open_days(house, "start_up_change_2", "T14") == [day(n) for n in (9, 11, 13)]
    assert open_days(house, "water_change", "T14") == []
    assert open_days(house, "dose", "T14") == []
    assert len(open_days(house, "look", "T14")) == 21


def test_passing_the_gate_ends_the_start_up_rows_and_begins_the_weekly_ones(house: House) -> None:
    a_tank(house, "T14", stage="start_up", flooded_on=FIRST_DAY)
    ensure(showroom=house.showroom, at=on(day(4)))
    assert open_days(house, "start_up_change_1", "T14")
    advance_stage(layout=house.layouts["T14"], to="grow_in", by=house.owner, at=on(day(5)))
    ensure(showroom=house.showroom, at=on(day(5)))
    assert open_days(house, "start_up_change_1", "T14") == []
    assert open_days(house, "start_up_test_1", "T14") == []
    assert open_days(house, "water_change", "T14") != []


def test_feeding_follows_the_days_of_its_plan(house: House) -> None:
    a_tank(house, "T02", food_days="1111110")
    ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=7)
    assert open_days(house, "feed", "T02") == [day(n) for n in (0, 1, 2, 3, 4, 5, 7)]


def test_a_plan_that_ends_takes_its_tasks_along_and_one_that_returns_brings_them(
    house: House,
) -> None:
    ensure(showroom=house.showroom, at=on(FIRST_DAY))
    stop_plans(tank=house.tanks["T01"], on=day(1), by=house.owner, at=on(day(1)), purpose="dose")
    ensure(showroom=house.showroom, at=on(day(1)))
    assert open_days(house, "dose", "T01") == []
    set_plan(
        tank=house.tanks["T01"], item=house.fertiliser, purpose="dose", from_on=day(2),
        by=house.owner, at=on(day(1), "10:00"), lines=[PlanLine(Volume.ml(2))],
    )  # fmt: skip
    result = ensure(showroom=house.showroom, at=on(day(1), "10:01"))
    assert result.reopened == 6
    assert open_days(house, "dose", "T01") == [day(n) for n in range(2, 9)]


def test_what_a_person_let_pass_is_not_opened_again(house: House) -> None:
    ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=0)
    row = DueTask.objects.get(template__key="look")
    Skip.objects.create(
        showroom=house.showroom, due_task=row, reason="tank_empty", person=house.owner.person,
        done_at=on(FIRST_DAY), done_at_corrected=on(FIRST_DAY), entered_at=on(FIRST_DAY),
    )  # fmt: skip
    DueTask.objects.filter(pk=row.pk).update(state="dropped")
    assert ensure(showroom=house.showroom, at=on(FIRST_DAY, "09:00"), days_ahead=0).reopened == 0
    assert open_days(house, "look") == []


def test_days_on_which_nothing_ran_are_made_up_for(house: House) -> None:
    ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=0)
    ensure(showroom=house.showroom, at=on(day(10)), days_ahead=0)
    assert len(open_days(house, "water_change", "T01")) >= 1
    assert open_days(house, "look", "T01") == [day(offset) for offset in range(11)]


def test_after_more_than_a_fortnight_it_starts_anew(house: House) -> None:
    ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=0)
    ensure(showroom=house.showroom, at=on(day(40)), days_ahead=0)
    assert open_days(house, "look", "T01") == [FIRST_DAY, day(40)]


def test_a_new_tank_starts_today_however_old_its_layout(house: House) -> None:
    ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=0)
    a_tank(house, "T03", at=on(day(6)), flooded_on=date(2024, 1, 1))
    ensure(showroom=house.showroom, at=on(day(6)), days_ahead=1)
    assert open_days(house, "look", "T03") == [day(6), day(7)]


def test_looking_today_makes_up_for_yesterday(house: House) -> None:
    ensure(showroom=house.showroom, at=on(day(1)), days_ahead=0)
    ensure(showroom=house.showroom, at=on(day(2)), days_ahead=0)
    finish(house, "look", day(2), "T01")
    ensure(showroom=house.showroom, at=on(day(2), "09:00"), days_ahead=0)
    assert open_days(house, "look", "T01") == []
    states = DueTask.objects.filter(template__key="look").order_by("due_on")
    assert list(states.values_list("state", flat=True)) == ["dropped", "done"]
    assert open_days(house, "feed", "T01") == [day(1), day(2)]


def test_a_task_from_done_is_due_once_and_again_one_interval_after(house: House) -> None:
    ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=60)
    (first,) = open_days(house, "filter_service", "T01")
    finish(house, "filter_service", first, "T01", done_on=first + timedelta(days=3))
    later = first + timedelta(days=4)
    ensure(showroom=house.showroom, at=on(later), days_ahead=60)
    assert open_days(house, "filter_service", "T01") == [first + timedelta(days=3 + 42)]


def test_a_late_task_from_done_is_not_doubled(house: House) -> None:
    ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=45)
    (first,) = open_days(house, "filter_service", "T01")
    for offset in (1, 30, 60):
        ensure(showroom=house.showroom, at=on(first + timedelta(days=offset)))
        assert open_days(house, "filter_service", "T01") == [first]


def test_a_closed_day_moves_class_b_earlier_and_class_a_not_at_all(house: House) -> None:
    Closure.objects.create(
        showroom=house.showroom, from_on=day(1), to_on=day(2), reason="stocktake of the town"
    )
    ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=6)
    weighing = DueTask.objects.get(template__key="weigh_small")
    assert (weighing.due_on, weighing.occurrence_key) == (FIRST_DAY, "2026-03-10")
    assert open_days(house, "look", "T01") == [day(offset) for offset in range(7)]
    ensure(showroom=house.showroom, at=on(day(1)), days_ahead=5)
    assert DueTask.objects.filter(template__key="weigh_small").count() == 1


def test_a_changed_template_replaces_what_is_open_and_doubles_nothing_done(house: House) -> None:
    ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=2)
    finish(house, "look", FIRST_DAY, "T01")
    change_template(
        showroom=house.showroom, key="look", changes={"due_time": time(8, 30)}, by=house.owner,
        at=on(FIRST_DAY, "10:00"),
    )  # fmt: skip
    ensure(showroom=house.showroom, at=on(FIRST_DAY, "10:01"), days_ahead=2)
    rows = DueTask.objects.filter(template__key="look").exclude(state="dropped").order_by("due_on")
    assert [(row.due_on, row.state, row.template.version) for row in rows] == [
        (FIRST_DAY, "done", 1),
        (day(1), "open", 2),
        (day(2), "open", 2),
    ]
    assert rows[1].due_at == on(day(1), "08:30")


def test_a_stopped_template_is_due_no_more(house: House) -> None:
    ensure(showroom=house.showroom, at=on(FIRST_DAY))
    assert open_days(house, "outside_glass")
    stop_template(
        showroom=house.showroom, key="outside_glass", by=house.owner, at=on(FIRST_DAY, "10:00")
    )
    ensure(showroom=house.showroom, at=on(FIRST_DAY, "10:01"))
    assert open_days(house, "outside_glass") == []


def test_the_clocks_of_lamps_and_gas_are_looked_at_on_the_day_they_change(house: House) -> None:
    ensure(showroom=house.showroom, at=on(date(2026, 3, 27)))
    assert open_days(house, "clock_check") == [date(2026, 3, 29)]
    look = DueTask.objects.get(template__key="look", due_on=date(2026, 3, 29))
    assert look.due_at == on(date(2026, 3, 29), "08:00")  # 09:00 in summer time


def test_a_holding_tank_is_looked_at_while_it_has_a_layout_or_animals(house: House) -> None:
    a_tank(house, "Q01", purpose="quarantine", stage="")
    a_tank(house, "H01", purpose="holding")
    ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=0)
    assert open_days(house, "look", "Q01") == []
    assert open_days(house, "look", "H01") == [FIRST_DAY]


def test_another_showroom_gets_and_loses_nothing(house: House) -> None:
    other = a_house("quayside")
    a_tank(other, "T01")
    ensure(showroom=house.showroom, at=on(FIRST_DAY))
    assert not DueTask.objects.of(other.showroom).exists()
    ensure(showroom=other.showroom, at=on(FIRST_DAY))
    before = DueTask.objects.of(house.showroom).count()
    stop_template(showroom=other.showroom, key="outside_glass", by=other.owner, at=on(FIRST_DAY))
    ensure(showroom=other.showroom, at=on(FIRST_DAY, "09:00"))
    assert DueTask.objects.of(house.showroom).filter(state="open").count() == before
    assert TaskTemplate.objects.of(house.showroom).filter(to_on=None, key="outside_glass").exists()


@pytest.mark.once
def test_queries_do_not_grow_with_the_fleet(house: House) -> None:
    def queries() -> int:
        ensure(showroom=house.showroom, at=on(FIRST_DAY), days_ahead=0)
        with CaptureQueriesContext(
            connection,
        ) as seen:
            ensure(showroom=house.showroom, at=on(FIRST_DAY, "08:10"), days_ahead=0)
        return len(seen)

    few = queries()
    for number in range(2, 12):
        a_tank(house, f"T{number:02}")
    assert queries() == few


@pytest.mark.django_db(transaction=True)
def test_two_workers_at_once_make_each_task_once() -> None:
    house = a_house()
    for number in range(1, 6):
        a_tank(house, f"T{number:02}")
    barrier, errors = threading.Barrier(2), []

    def work() -> None:
        try:
            barrier.wait(timeout=10)
            ensure(showroom=house.showroom, at=on(FIRST_DAY))
        except Exception as error:
            errors.append(error)
        finally:
            connection.close()

    workers = [threading.Thread(target=work) for _ in range(2)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(timeout=60)
    assert errors == []
    names = Counter(DueTask.objects.values_list("template__key", "subject_key", "occurrence_key"))
    assert len(names) > 100
    assert set(names.values()) == {1}
