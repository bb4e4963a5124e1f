"""The list of tasks in a showroom: loaded once, changed by people, never edited in force."""

from __future__ import annotations

from datetime import time
from typing import Any

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import AuditEntry
from maintenance.models import TaskTemplate
from maintenance.services import templates
from maintenance.services.templates import change_template, load_templates, stop_template
from tests.maintenance.house import START, a_carer, a_house, day, on

pytestmark = pytest.mark.django_db


def in_force(house: Any, key: str) -> TaskTemplate:
    found: TaskTemplate = TaskTemplate.objects.of(house.showroom).get(key=key, to_on=None)
    return found


def test_every_task_of_the_catalogue_is_there_once() -> None:
    house = a_house()
    keys = {task.key for task in templates.catalogue().tasks}
    assert set(TaskTemplate.objects.of(house.showroom).values_list("key", flat=True)) == keys
    again = load_templates(showroom=house.showroom, at=on(day(1)))
    assert (again.made, again.renewed) == ((), ())
    assert set(again.kept) == keys
    assert TaskTemplate.objects.of(house.showroom).count() == len(keys)


def test_what_a_tablet_needs_stands_in_the_template() -> None:
    look = in_force(a_house(), "look")
    assert (look.kind, look.round_kind, look.harm_class, look.skill) == (
        "look",
        "opening",
        "A",
        "C1",
    )
    assert look.due_time == time(9)
    assert look.minutes_by_size["up_to_l"] == [50, 100, 210, 400, 800]
    assert [asked["key"] for asked in look.questions][:3] == [
        "floor_and_level", "animals", "temperature",
    ]  # fmt: skip
    assert look.questions[2]["parameter"] == "water_temperature"


def test_a_person_s_change_opens_the_next_version_and_survives_the_catalogue() -> None:
    house = a_house()
    change_template(
        showroom=house.showroom, key="water_change",
        changes={"rule": "FREQ=WEEKLY;BYDAY=TU,FR"}, by=house.owner, at=on(day(1)),
    )  # fmt: skip
    rows = TaskTemplate.objects.of(house.showroom).filter(key="water_change").order_by("version")
    assert [(row.version, row.from_on, row.to_on) for row in rows] == [
        (1, START.date(), day(1)),
        (2, day(1), None),
    ]
    load_templates(showroom=house.showroom, at=on(day(2)))
    assert in_force(house, "water_change").rule == "FREQ=WEEKLY;BYDAY=TU,FR"
    entry = AuditEntry.objects.get(deed="task_template.change")
    assert entry.before == {"rule": "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH"}
    assert entry.after == {"rule": "FREQ=WEEKLY;BYDAY=TU,FR"}


def test_a_newer_catalogue_renews_what_nobody_changed(monkeypatch: pytest.MonkeyPatch) -> None:
    house = a_house()
    stop_template(showroom=house.showroom, key="ph_meter", by=house.owner, at=on(day(1)))
    change_template(
        showroom=house.showroom, key="look", changes={"due_time": time(8)}, by=house.owner,
        at=on(day(1)),
    )  # fmt: skip
    values = templates._values

    def newer(task: Any, *rest: Any) -> dict[str, Any]:
        return values(task, *rest) | {"skill": "C2", "catalogue_digest": "0" * 64}

    monkeypatch.setattr(templates, "_values", newer)
    loaded = load_templates(showroom=house.showroom, at=on(day(3)))
    assert "feed" in loaded.renewed
    assert "look" in loaded.kept
    assert (in_force(house, "feed").version, in_force(house, "feed").skill) == (2, "C2")
    assert in_force(house, "look").due_time == time(8)
    assert not TaskTemplate.objects.filter(key="ph_meter", to_on=None).exists()


@pytest.mark.parametrize(
    ("key", "changes", "field"),
    [
        ("look", {"rule": "FREQ=HOURLY"}, "rule"),
        ("filter_service", {"rule": "FREQ=WEEKLY;BYDAY=MO"}, "rule"),
        ("water_change", {"rule": "FREQ=DAILY"}, "rule"),
        ("look", {"on_closed_day": "later"}, "on_closed_day"),
        ("look", {"due_time": None}, "due_time"),
        ("dose", {"harm_class": "E"}, "harm_class"),
        ("dose", {"on_closed_day": "never"}, "on_closed_day"),
        ("dose", {"due_time": "nine"}, "due_time"),
        ("dose", {"key": "other"}, "key"),
    ],
)
def test_a_change_that_is_not_allowed_names_its_field(
    key: str, changes: dict[str, Any], field: str
) -> None:
    house = a_house()
    with pytest.raises(Refused) as refused:
        change_template(
            showroom=house.showroom, key=key, changes=changes, by=house.owner, at=on(day(1))
        )
    assert field in refused.value.fields
    assert in_force(house, key).version == 1


def test_class_a_is_not_stopped() -> None:
    house = a_house()
    with pytest.raises(Refused, match="not stopped"):
        stop_template(showroom=house.showroom, key="look", by=house.owner, at=on(day(1)))


def test_only_who_plans_may_change_and_strangers_find_nothing() -> None:
    house, other = a_house(), a_house("quayside")
    carer = a_carer(house, "Pia Sandgrove")
    for by in (carer, other.owner):
        with pytest.raises((Forbidden, Unknown)):
            change_template(
                showroom=house.showroom, key="look", changes={"due_time": time(8)}, by=by,
                at=on(day(1)),
            )  # fmt: skip
    with pytest.raises(Unknown):
        stop_template(showroom=house.showroom, key="unheard_of", by=house.owner, at=on(day(1)))
