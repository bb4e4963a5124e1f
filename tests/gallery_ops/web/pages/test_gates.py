"""At a gate by hand: said, let pass, passed; a start-up step taken; a figure of one's own."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tanks.models import GateThreshold, GateWord, Layout, Stage
from tests.builders.gallery import AT, a_planted_tank, an_owner
from tests.built_once import built_once

pytestmark = pytest.mark.django_db


def _build():
    tank = a_planted_tank("T14", stage=Stage.PLANTING)
    return tank, an_owner(tank.showroom)


built, world = built_once(_build)


@pytest.fixture
def desk(client, world, monkeypatch):
    monkeypatch.setenv("GALLERY_OPS_CLOCK", AT.isoformat())
    client.force_login(world[1].person)
    return client


def test_a_word_is_kept_and_a_number_that_is_none_stays_typed(desk):
    address = reverse("tank_gates", args=["T14"])
    page = desk.post(address, {"of": "G4.dry", "number": "5h", "deed": "say"})
    assert page.status_code == 422
    assert "is no number" in page.content.decode()
    assert 'value="5h"' in page.content.decode()
    assert desk.post(address, {"of": "G4.dry", "number": "5,5", "deed": "say"}).status_code == 302
    assert GateWord.objects.get().number == 5.5
    assert "5.5 h" in desk.get(address).content.decode()


def test_passing_too_early_names_what_is_missing(desk):
    page = desk.post(reverse("tank_gates", args=["T14"]), {"deed": "pass"})
    assert page.status_code == 422
    assert "10 of 10 proofs are missing" in page.content.decode()
    assert Layout.objects.get().stage == Stage.PLANTING


def test_the_usual_steps_are_copied_and_the_first_is_taken(desk):
    Layout.objects.update(stage=Stage.START_UP, flooded_on=AT.date())
    address = reverse("tank_start_up", args=["T14"])
    desk.post(address, {"deed": "copy_inert"})
    assert "step 1" not in desk.get(address).content.decode().split("</h1>")[0]
    desk.post(address, {"deed": "take", "order": "1", "reason": "it was filled in the morning"})
    assert Layout.objects.get().start_up_steps.get(order=1).accepted_by_id
    late = desk.post(address, {"deed": "take", "order": "2"})
    assert late.status_code == 422
    assert "From day 8" in late.content.decode()


def test_a_figure_of_ones_own_needs_a_reason(desk):
    address = reverse("gate_limits")
    page = desk.post(address, {"deed": "time_dry_h", "number": "4"})
    assert page.status_code == 422
    assert 'value="4"' in page.content.decode()
    desk.post(address, {"deed": "time_dry_h", "number": "4", "reason": "hot hall"})
    assert GateThreshold.objects.get().number == 4
    assert "hot hall" in desk.get(address).content.decode()
