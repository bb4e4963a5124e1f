"""What a tablet is told about one stop: how to dose, what was given, what was skipped before."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.services.calibration import record_press_calibration
from inventory.services.plans import PlanLine, set_plan
from maintenance.models import DueTask
from maintenance.queries.round_pack import round_pack
from maintenance.services.completions import complete
from maintenance.services.skips import skip
from tests.maintenance.actions.saying import AT, ON, Morning, a_morning

pytestmark = pytest.mark.django_db


@pytest.fixture
def morning() -> Morning:
    return a_morning()


def stop_of(morning: Morning, tank: str = "T01") -> dict[str, Any]:
    pack = round_pack(morning.house.showroom, morning.round, morning.carer, AT)
    found: dict[str, Any] = next(stop for stop in pack["stops"] if stop["tank"] == tank)
    return found


def test_a_dose_is_told_in_presses_of_the_measured_pump(morning: Morning) -> None:
    """20 presses that weigh 18.48 g at 1.00 g/mL give 0.924 mL each (worked by hand)."""
    record_press_calibration(
        container=morning.bottle,
        presses=20,
        mass=Mass(18_480),
        by=morning.house.owner,
        at=AT - timedelta(days=20),
    )
    (dose,) = stop_of(morning)["doses"]
    assert (dose["tool"], dose["planned_ul"]) == ("pump", 3000)
    assert (dose["presses"], dose["per_press_ul"]) == (3, 924)
    assert dose["bottle"] == {
        "code": morning.bottle.code,
        "name": str(morning.bottle),
        "too_old_from": None,
    }
    assert dose["measured_on"] == "2026-02-20"


def test_a_pump_that_nobody_measured_says_so(morning: Morning) -> None:
    (dose,) = stop_of(morning)["doses"]
    assert (dose["presses"], dose["per_press_ul"], dose["measured_on"]) == (3, 1000, None)


def test_above_fifteen_millilitres_a_cup_is_used(morning: Morning) -> None:
    for millilitres, tool in ((15, "pump"), (16, "cup")):
        set_plan(
            tank=morning.house.tanks["T01"],
            item=morning.house.fertiliser,
            purpose="dose",
            from_on=ON,
            lines=[PlanLine(Volume.ml(millilitres))],
            by=morning.house.owner,
            at=AT,
        )
        assert stop_of(morning)["doses"][0]["tool"] == tool


def test_what_was_given_outside_this_round_is_said_and_what_was_given_in_it_is_an_entry(
    morning: Morning,
) -> None:
    morning.dose(2000, round_id=None)
    morning.dose(3000)
    stop = stop_of(morning)
    assert [given["amount"] for given in stop["doses"][0]["given_today"]] == [2000]
    assert [entry["body"]["given_ul"] for entry in stop["entries"]] == [3000]


def test_skips_in_a_row_are_counted_until_it_was_done(morning: Morning) -> None:
    before = {day: a_look_of(morning, day) for day in (9, 10, 11)}
    for day in (10, 11):
        left_out(morning, before[day])
    look = next(task for task in stop_of(morning)["tasks"] if task["code"] == "look")
    assert look["skipped_last"] == {
        "on": "2026-03-11", "reason": "short of time", "in_a_row": 2,
    }  # fmt: skip
    complete(due_task=before[11], by=morning.carer, at=AT)
    look = next(task for task in stop_of(morning)["tasks"] if task["code"] == "look")
    assert look["skipped_last"] is None, "the last time it was done"


def a_look_of(morning: Morning, day: int) -> DueTask:
    """The opening look of T01 on a day of that March."""
    today = morning.task("look")
    on = date(2026, 3, day)
    found: DueTask = DueTask.objects.get_or_create(
        showroom=morning.house.showroom,
        template=today.template,
        tank=today.tank,
        subject_key=today.subject_key,
        occurrence_key=on.isoformat(),
        defaults={"due_on": on, "due_at": today.due_at - (ON - on)},
    )[0]
    return found


def left_out(morning: Morning, task: DueTask) -> None:
    skip(
        due_task=task,
        reason="short_of_time",
        text="",
        by=morning.carer,
        at=task.due_at,
        done_at=task.due_at,
    )


def test_people_of_the_pack_have_the_skills_that_hold_today(morning: Morning) -> None:
    pack = round_pack(morning.house.showroom, morning.round, morning.carer, AT)
    skills = {person["name"]: person["skills"] for person in pack["people"]}
    assert skills == {"Bram Tolliver": ["C1", "C2"], "Maud Ellerkamp": []}
