"""A filter service is a service of the filter, with its flow; at a desk it does the task too."""

from __future__ import annotations

from datetime import timedelta

import pytest

from maintenance.models import Completion, DueTask, TaskTemplate
from maintenance.services.templates import load_templates
from tanks.models import EquipmentService
from tanks.queries.equipment import serving
from tanks.services import equipment
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, Morning, a_morning

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


class Service:
    """A morning on which the filter of T01 is due for its service."""

    def __init__(self) -> None:
        self.morning: Morning = a_morning()
        self.owner = self.morning.house.owner
        self.tank = self.morning.house.tanks["T01"]
        self.showroom = self.tank.showroom
        load_templates(showroom=self.showroom, at=AT)
        TaskTemplate.objects.filter(key="filter_service").update(skill="C1")
        self.filter = self.put_on()
        self.task = DueTask.objects.create(
            showroom=self.showroom,
            template=TaskTemplate.objects.get(showroom=self.showroom, key="filter_service"),
            tank=self.tank,
            subject_key=f"tank:{self.tank.pk}",
            occurrence_key="x",
            due_on=AT.date(),
            due_at=AT,
        )

    def put_on(self):
        return equipment.put_on(
            tank=self.tank, kind="filter", name="outer", figures={"flow_l_per_h": 800},
            by=self.owner, at=AT - 30 * DAY, from_at=AT - 30 * DAY,
        )  # fmt: skip

    def tick(self, **answers):
        body = {"task": str(self.task.uid), "minutes": 30, "answers": answers}
        where = {"stop_id": self.morning.stop(), "task_id": str(self.task.uid)}
        return self.morning.say("complete", body, **where)


built, service = built_once(Service)


def test_the_flow_of_a_ticked_service_stands_in_the_history_of_the_filter(service):
    assert service.tick(flow_before=390, flow_after="760").verdict == "accepted"
    row = EquipmentService.objects.get()
    assert (row.equipment_id, row.what, row.flow_l_per_h) == (service.filter.pk, "cleaned", 760)
    assert row.text == "before it: 390 L/h"
    assert row.action_id == Completion.objects.get().action_id
    (piece,) = serving(service.tank)
    assert piece.flow_part == 0.95


def test_a_tick_without_a_flow_is_a_cleaning_and_two_filters_are_not_guessed(service):
    assert service.tick().verdict == "accepted"
    assert EquipmentService.objects.get().flow_l_per_h is None


def test_of_two_filters_nobody_said_which(service):
    service.put_on()
    assert service.tick(flow_after=760).verdict == "accepted"
    assert not EquipmentService.objects.exists()


def test_a_flow_that_cannot_be_waits_for_a_person_and_does_nothing(service):
    assert service.tick(flow_after=90_000).verdict == "held"
    assert not EquipmentService.objects.exists()
    service.task.refresh_from_db()
    assert service.task.state == "open"


def test_undoing_the_tick_takes_the_service_back(service):
    said = service.tick(flow_after=760)
    undone = service.morning.say("undo", {"takes_back": said.action_id}, corrects=said.action_id)
    assert undone.verdict == "accepted"
    assert not EquipmentService.objects.standing().exists()
    (piece,) = serving(service.tank)
    assert piece.flow_now is None


def test_a_filter_cleaned_at_a_desk_does_the_service_that_is_due(service, client, monkeypatch):
    monkeypatch.setenv("GALLERY_OPS_CLOCK", AT.isoformat())
    client.force_login(service.owner.person)
    typed = {"deed": "service", "of": service.filter.pk, "what": "cleaned", "flow": "780"}
    assert client.post("/tanks/T01/equipment/", typed).status_code == 302
    service.task.refresh_from_db()
    assert service.task.state == "done"
    assert Completion.objects.get().answers == {"flow_after": 780.0}
    page = client.get("/tanks/T01/equipment/").content.decode()
    assert "780 of 800 L/h clean, 98 %" in page
