"""Tasks that hurt nobody: on the board from the day after they were due, never as late."""

from __future__ import annotations

import time
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from gallery_ops.kernel import clock
from maintenance.models import DueTask
from maintenance.services.completions import complete
from maintenance.services.due_tasks import ensure
from tests.gallery_ops.web.pages.addresses import signed_in
from tests.maintenance.house import START, House, a_house, a_tank, on

pytestmark = pytest.mark.django_db
HEADING = "When there is time this week"
FRIDAY, SATURDAY = date(2026, 3, 13), date(2026, 3, 14)


@pytest.fixture
def house() -> House:
    made = a_house()
    for n in range(1, 15):
        a_tank(made, f"T{n:02}")
    ensure(showroom=made.showroom, at=START)
    DueTask.objects.exclude(template__key="outside_glass").update(state="done")
    return made


def board(house: House, monkeypatch: pytest.MonkeyPatch, day: date) -> str:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", f"{day}T08:00")
    monkeypatch.setattr(clock, "_started", time.monotonic())
    client: Client = signed_in(house.owner)
    return client.get(reverse("day_board")).content.decode()


def test_outside_glass_of_friday_stands_on_saturdays_board_and_goes_when_done(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert HEADING not in board(house, monkeypatch, FRIDAY)
    text = board(house, monkeypatch, SATURDAY)
    assert HEADING in text
    assert "T01, T02, T03" in text
    assert "T12 and 2 more" in text
    for task in DueTask.objects.filter(state="open"):
        complete(due_task=task, by=house.owner, at=on(SATURDAY))
    assert HEADING not in board(house, monkeypatch, SATURDAY)
