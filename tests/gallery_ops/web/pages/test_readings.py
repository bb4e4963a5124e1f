"""Readings at a desk: a test on one sheet, charts, corrections."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from tanks.models import Reading
from tanks.services.catalogue import load_parameters
from tanks.services.readings import record_reading
from tests.builders.gallery import AT, a_person, a_planted_tank, a_showroom
from tests.built_once import built_once

pytestmark = pytest.mark.django_db
BEGAN = AT - timedelta(days=100)
FALLING = ("4", "3.7", "3.4", "3.1", "2.8", "2.5", "2.2")
"""0.3 a week; 1 is its limit of alarm, reached 28 days after the newest."""


def _build():
    load_parameters()
    tank = a_planted_tank("T14", showroom=a_showroom(at=BEGAN), at=BEGAN)
    senior = a_person("senior_carer", showroom=tank.showroom)
    for week, text in enumerate(reversed(FALLING)):
        record_reading(
            tank=tank,
            parameter="kh",
            text=text,
            method="drop test",
            reagent_lot="K-01",
            light_phase="on",
            by=senior,
            at=AT - timedelta(days=1 + 7 * week),
        )
    return tank, senior, a_person("carer", showroom=tank.showroom)


built, world = built_once(_build)


@pytest.fixture
def desk(client, world, monkeypatch):
    monkeypatch.setenv("GALLERY_OPS_CLOCK", AT.isoformat())
    client.force_login(world[1].person)
    return client


ADD = "tank_reading_add"
TYPED = {
    "kh": "2,5",
    "kh.method": "drop test",
    "kh.lot": "K-02",
    "nitrate": "2",
    "nitrate.as": "N",
    "nitrite": "<0.05",
    "light_phase": "on",
    "action_id": "0198c000-0000-7000-8000-000000000001",
}


def test_a_test_is_kept_whole_once_and_nitrogen_in_one_way(desk):
    address = reverse(ADD, args=["T14"])
    assert "last: K-01" in desk.get(address).content.decode()
    assert desk.post(address, TYPED).status_code == 302
    desk.post(address, TYPED)
    rows = {row.parameter.key: row for row in Reading.objects.order_by("-pk")[:3]}
    assert rows["kh"].reagent_lot == "K-02"
    assert rows["nitrite"].qualifier == "<"
    # 62.004 / 14.007: one mole of nitrate for one of nitrogen
    assert rows["nitrate"].value == pytest.approx(2 * 62.004 / 14.007)
    assert (rows["nitrate"].text_as_typed, rows["nitrate"].basis) == ("2", "NO3")
    assert Reading.objects.count() == len(FALLING) + 3


def test_one_line_that_cannot_be_keeps_back_all_and_stays_typed(desk):
    address = reverse(ADD, args=["T14"])
    page = desk.post(address, {"kh": "60", "temperature": "17", "gh": "6"})
    words = page.content.decode()
    assert page.status_code == 422
    assert "60 dKH cannot be" in words
    assert 'value="60"' in words
    assert 'value="6"' in words
    assert 'name="temperature.really"' in words
    assert Reading.objects.count() == len(FALLING)
    true = {"temperature": "17", "temperature.really": "1", "gh": "6"}
    loud = desk.post(address, true, follow=True).content.decode()
    assert "Outside what is wanted here, an alert opens: Temperature." in loud
    late = {"gh": "6", "read_at": "2026-03-12T23:00"}
    assert desk.post(address, late).status_code == 422


def test_the_charts_say_when_a_limit_is_reached_and_never_join_two_lots(desk):
    address = reverse("tank_readings", args=["T14"])
    words = desk.get(address).content.decode()
    assert "Falls by 0.3 dKH a week, and reaches 1 dKH on Wed 8 April" in words
    assert "n = " not in words
    assert 'class="trend"' in words
    desk.post(reverse(ADD, args=["T14"]), TYPED)
    words = desk.get(address).content.decode()
    assert "New lot with the newest reading: nothing is compared across it." in words
    assert "Not enough readings: 1 that can be compared, 4 are needed." in words
    assert "polyline" not in words
    assert words.count('class="other"') > len(FALLING) - 1


def test_a_correction_stands_and_what_it_corrects_stays_to_be_seen(desk, world):
    address = reverse("tank_readings", args=["T14"])
    wrong = Reading.objects.get(text_as_typed="2.2")
    sent = {"deed": "correct", "of": wrong.pk, "text": "3,2"}
    page = desk.post(address, sent)
    assert page.status_code == 422
    assert 'value="3,2"' in page.content.decode()
    desk.post(address, {**sent, "reason": "read the wrong line"})
    words = desk.get(address).content.decode()
    assert "<s>2.2 dKH</s>" in words
    assert "was 2.2: read the wrong line" in words
    again = desk.post(address, {**sent, "reason": "twice"})
    assert again.status_code == 422
    desk.force_login(world[2].person)
    assert desk.post(address, {**sent, "reason": "not mine"}).status_code == 403
    assert Reading.objects.standing().count() == len(FALLING)


def test_a_word_of_the_drop_checker_is_put_right_and_the_old_one_stays(desk, world):
    tank, senior, _carer = world
    wrong = record_reading(
        tank=tank, parameter="drop_checker", text="yellow", by=senior, at=AT - timedelta(hours=1)
    )
    page = desk.get(reverse("tank_readings", args=["T14"])).content.decode()
    assert f'<select id="t_{wrong.pk}"' in page
    typed = {"deed": "correct", "of": wrong.pk, "text": "blue_green", "reason": "wrong button"}
    assert desk.post(reverse("tank_readings", args=["T14"]), typed).status_code == 302
    page = desk.get(reverse("tank_readings", args=["T14"])).content.decode()
    assert "<s>yellow</s>" in page
    assert "<b>blue-green</b>" in page
    assert "was yellow: wrong button" in page
    assert f"corrected to blue-green by {senior.person.name}" in page
