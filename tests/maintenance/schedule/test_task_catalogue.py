"""The tasks a new gallery starts with, and the hours that they come to on the fleet of 20.

Minutes and cadences are common practice without a source; that the sums of the file agree with the
fleet's known week (opening 81 minutes of looking, giving and passing by; 17.2 hours of water
changes; 2.8 of inside glass) checks the bands and the start-up rows.
"""

from __future__ import annotations

import csv
import tomllib
from datetime import date, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

import maintenance
from gallery_ops.kernel.values.limits import OutOfRange
from maintenance.schedule.lateness import HarmClass
from maintenance.schedule.recurrence import dates_between
from maintenance.schedule.task_catalogue import Task, minutes_for, read_tasks, tasks_from

FILE = Path(maintenance.__file__).parent / "catalogue" / "tasks.toml"
FLEET = Path(__file__).parents[2] / "outside" / "demo_fleet.csv"
CATALOGUE = read_tasks(FILE)
TASKS = {task.key: task for task in CATALOGUE.tasks}


def fleet() -> list[dict[str, str]]:
    with FLEET.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def days_of(prefix: str, from_day: int = 0, to_day: int = 60) -> list[int]:
    """Days of the layout on which a row of this name falls."""
    flooded = date(2026, 3, 7)
    found: list[int] = []
    for task in CATALOGUE.tasks:
        if task.key.startswith(prefix) and task.from_day is not None:
            start = flooded + timedelta(days=task.from_day)
            last = flooded + timedelta(days=task.to_day or to_day)
            found += [(day - flooded).days for day in dates_between(task.rule, start, start, last)]
    return sorted(day for day in found if from_day <= day <= to_day)


def test_the_opening_stop_has_three_tasks_of_class_a_a_and_b() -> None:
    opening = [task for task in CATALOGUE.tasks if task.round == "opening"]
    assert {task.key: str(task.harm) for task in opening} == {"look": "A", "feed": "A", "dose": "B"}
    assert {task.at for task in opening} == {time(9)}
    assert len(TASKS["look"].questions) == 6


@pytest.mark.parametrize(
    ("key", "harm"),
    [
        ("water_change", "B"), ("weigh_small", "B"), ("weigh_large", "B"),
        ("trim_stems", "C"), ("filter_service", "C"), ("outside_glass", "D"),
        *[(f"start_up_test_{n}", "A") for n in range(1, 6)],
        *[(f"start_up_change_{n}", "A") for n in range(1, 6)],
    ],
)  # fmt: skip
def test_harm_classes(key: str, harm: str) -> None:
    assert TASKS[key].harm is HarmClass(harm)


def test_start_up_tests_and_changes_fall_on_these_days_of_the_layout() -> None:
    assert days_of("start_up_test", to_day=42) == [1, 3, 5, 7, 10, 14, 17, 21, 24, 28, 35, 42]
    assert days_of("start_up_change", to_day=42) == [
        *range(1, 8), 9, 11, 13, 15, 18, 22, 25, 29, 36,
    ]  # fmt: skip
    # While a start-up lasts, its weekly rows go on: no tank falls between two rows.
    assert days_of("start_up_change", 43) == [43, 50, 57]
    assert days_of("start_up_test", 43) == [49, 56]


def test_opening_of_the_fleet_takes_81_minutes() -> None:
    opening = [TASKS[key] for key in ("look", "feed", "dose")]
    standing = [row for row in fleet() if row["stage"] != "empty"]
    assert len(standing) == 19
    total = sum(
        CATALOGUE.minutes_for(task, Decimal(row["nominal_l"]))
        for row in standing
        for task in opening
    )
    assert total + 1 == 81  # and one minute to pass by the empty place


def test_a_week_of_water_changes_and_inside_glass_on_the_fleet() -> None:
    changes = glass = Decimal(0)
    for row in fleet():
        litres = Decimal(row["nominal_l"])
        per_week = {"empty": 0, "startup_w1": 7, "startup_w2": 3.5}.get(row["stage"], 1)
        changes += CATALOGUE.minutes_for(TASKS["water_change"], litres) * Decimal(per_week)
        if row["stage"] != "empty":
            glass += CATALOGUE.minutes_for(TASKS["inside_glass"], litres)
    assert float(changes / 60) == pytest.approx(17.2, abs=0.05)
    assert float(glass / 60) == pytest.approx(2.8, abs=0.05)


def test_class_a_never_moves_for_a_closed_day() -> None:
    assert {task.closed.value for task in CATALOGUE.tasks if task.harm is HarmClass.A} == {"keep"}


def test_minutes_at_the_edges_of_a_band() -> None:
    minutes = (Decimal(15), Decimal(25), Decimal(40))
    assert minutes_for(minutes, (50, 100), 50) == 15
    assert minutes_for(minutes, (50, 100), Decimal("50.1")) == 25
    assert minutes_for(minutes, (50, 100), 100) == 25
    assert minutes_for(minutes, (50, 100), 4000) == 40
    assert minutes_for(minutes, (50, 100), None) == 40
    assert minutes_for((Decimal(20),), (50, 100), 10) == 20


def content(**change: Any) -> dict[str, Any]:
    whole = tomllib.loads(FILE.read_text(encoding="utf-8"))
    row = dict(whole["task"]["look"]) | change
    return whole | {
        "task": {"look": {key: value for key, value in row.items() if value is not None}}
    }


def test_the_row_used_below_is_accepted() -> None:
    (task,) = tasks_from(content()).tasks
    assert isinstance(task, Task)
    assert task.name("de") == "Ansehen"
    assert task.name("fr") == "Look"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"harm": "E"}, "harm"),
        ({"skill": "C9"}, "skill"),
        ({"rule": "FREQ=HOURLY"}, "rule"),
        ({"rule": None}, "rule"),
        ({"counts_from": "done", "rule": "FREQ=WEEKLY;BYDAY=MO"}, "rule"),
        ({"spread": True}, "rule"),
        ({"closed": "later"}, "closed, at"),
        ({"at": None}, "closed, at"),
        ({"at": "25:00"}, "at"),
        ({"minutes": ["1", "2"]}, "minutes"),
        ({"minutes": 1.5}, "minutes"),
        ({"minutes": "0"}, "minutes"),
        ({"minutes": "x"}, "minutes"),
        ({"stages": []}, "stages"),
        ({"stages": ["vacant"]}, "stages"),
        ({"scope": "fleet"}, "minutes"),
        ({"scope": "fleet", "minutes": "5"}, "stages"),
        ({"from_day": 3}, "from_day"),
        ({"counts_from": "flooding"}, "from_day"),
        ({"counts_from": "flooding", "from_day": 7, "to_day": 1}, "to_day"),
        ({"counts_from": "flooding", "from_day": "x"}, "from_day"),
        ({"questions": ["unheard_of"]}, "questions"),
        ({"name": {"de": "Ansehen"}}, "name"),
        ({"only_with": "luck"}, "only_with"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_a_row_that_breaks_a_rule_is_refused_by_name(change: dict[str, Any], field: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        tasks_from(content(**change))
    assert refused.value.field == f"Task look, {field}"
