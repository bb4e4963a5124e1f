"""Equipment of a tank: put on, changed, looked after; what does not fit opens and closes alerts."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from gallery_ops.kernel.models import Alert
from tanks.models import Equipment, ParameterRange
from tanks.services import interlock_alerts
from tanks.services.catalogue import load_parameters
from tests.builders.gallery import AT, a_person, a_planted_tank, an_owner
from tests.built_once import built_once

pytestmark = pytest.mark.django_db


def _build():
    load_parameters()
    tank = a_planted_tank("T14")
    return tank, an_owner(tank.showroom), a_person("carer", showroom=tank.showroom)


built, world = built_once(_build)
NOW = AT + timedelta(hours=1)


@pytest.fixture
def desk(client, world, monkeypatch):
    monkeypatch.setenv("GALLERY_OPS_CLOCK", NOW.isoformat())
    client.force_login(world[1].person)
    return client


def _open(tank):
    interlock_alerts.review(showroom=tank.showroom, at=NOW)
    return sorted(Alert.objects.filter(closed_at=None).values_list("cause_key", flat=True))


def test_a_filter_that_lost_half_its_flow_opens_an_alert_and_its_cleaning_closes_it(
    desk, world, monkeypatch
):
    tank, address = world[0], reverse("tank_equipment", args=["T14"])
    wrong = desk.post(address, {"deed": "add", "kind": "filter", "flow_l_per_h": "80000"})
    assert wrong.status_code == 422
    assert 'value="80000"' in wrong.content.decode()
    desk.post(address, {"deed": "add", "kind": "filter", "flow_l_per_h": "800", "socket": "S4"})
    of = {"of": Equipment.objects.get().pk, "deed": "service"}
    desk.force_login(world[2].person)
    desk.post(address, {**of, "what": "measured", "flow": "390"})
    assert "49 % of its clean flow" in desk.get(address).content.decode()
    assert _open(tank) == ["interlock:T14:low_flow"]
    later = NOW + timedelta(minutes=5)
    monkeypatch.setenv("GALLERY_OPS_CLOCK", later.isoformat())
    desk.force_login(world[1].person)
    moved = {**of, "deed": "change", "flow_l_per_h": "800", "socket": "S9"}
    desk.post(address, moved)
    assert "49 % of its clean flow" in desk.get(address).content.decode()
    assert _open(tank) == ["interlock:T14:low_flow"]
    of = {"of": Equipment.objects.get(to_at=None).pk, "deed": "service"}
    desk.force_login(world[2].person)
    desk.post(address, {**of, "what": "cleaned", "flow": "780", "text": "rotor freed"})
    assert _open(tank) == []
    assert "rotor freed" in desk.get(address).content.decode()
    late = {**of, "deed": "change", "flow_l_per_h": "900"}
    assert desk.post(address, late).status_code == 403


def test_gas_by_night_is_found_with_its_hours_and_gone_with_the_timer(desk, world, monkeypatch):
    tank, address = world[0], reverse("tank_equipment", args=["T14"])
    light = {"deed": "add", "kind": "light", "on_h": "10:00", "off_h": "18:00", "power_w": "90"}
    desk.post(address, light)
    desk.post(address, {"deed": "add", "kind": "gas", "on_h": "09:00", "off_h": "20:30"})
    words = desk.get(address).content.decode()
    assert "gas runs 2.5 h after the lamps are off" in words
    assert "0.72 kWh a day" in words  # 90 W for 8 h
    assert _open(tank) == ["interlock:T14:gas_after_light"]
    alert = Alert.objects.get(closed_at=None)
    said = desk.get(reverse("alert_detail", args=[alert.uid])).content.decode()
    assert "animals breathe it through the night" in said
    later = NOW + timedelta(minutes=5)
    monkeypatch.setenv("GALLERY_OPS_CLOCK", later.isoformat())
    gas = Equipment.objects.get(kind="gas")
    sent = {"deed": "change", "of": gas.pk, "on_h": "09:00", "off_h": "17:00"}
    assert desk.post(address, sent).status_code == 302
    interlock_alerts.review(showroom=tank.showroom, at=later)
    assert not Alert.objects.filter(closed_at=None).exists()
    assert Equipment.objects.filter(kind="gas").count() == 2


def test_a_tank_may_want_another_range_with_a_reason(desk, world):
    address = reverse("tank_ranges", args=["T14"])
    sent = {"deed": "kh", "alarm_low": "0,5", "holds": "tank"}
    page = desk.post(address, sent)
    assert page.status_code == 422
    assert 'value="0,5"' in page.content.decode()
    crossed = {**sent, "alarm_low": "9", "alarm_high": "2", "reason": "soft stone"}
    assert desk.post(address, crossed).status_code == 422
    desk.post(address, {**sent, "reason": "soft stone"})
    assert ParameterRange.objects.get().alarm_low == 0.5
    words = desk.get(address).content.decode()
    assert "wanted at least 0.5 dKH" in words
    assert 'value="0.5"' in words
    desk.force_login(world[2].person)
    assert desk.post(address, {**sent, "reason": "not mine"}).status_code == 403
