"""Do the pages of gas say number, shape and caution, and refuse with words?"""

from __future__ import annotations

import re
import time
from datetime import date

import pytest

from gallery_ops.kernel import clock
from inventory.models import CylinderDetail
from tanks.models import RoomAirCheck
from tests.builders.gallery import a_room, a_tank
from tests.builders.stock import a_cylinder, a_gas, a_scale
from tests.built_once import built_once
from tests.gallery_ops.web.pages.addresses import signed_in
from tests.gallery_ops.web.pages.gas_house import gas_house, measured, page, sign_off, words_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch):
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


built, house = built_once(gas_house)


def test_a_room_line_has_its_number_its_shape_and_its_word(house):
    owner, _tank, _one = house
    measured(owner)
    html = page(signed_in(owner), "/cylinders/")
    assert ">7,344</text>" in html
    assert 'class="w"' in html
    assert "Above 5,000," in html
    assert "7,344 ppm on a line from 1,000 to 100,000" in html
    measured(owner, volume_m3=60)
    html = page(signed_in(owner), "/cylinders/")
    assert ">18,116</text>" in html
    assert 'class="h"' in html
    assert "Above 15,000," in html
    measured(owner, volume_m3=900)
    html = page(signed_in(owner), "/cylinders/")
    assert 'class="b"' in html
    assert "Below 5,000," in html


@pytest.mark.parametrize("known", [{}, {"has_gas_alarm": False}])
def test_a_room_without_volume_or_alarm_has_no_number(house, known):
    owner, _tank, _one = house
    if known:
        measured(owner, **known)
    room = a_room(owner.showroom)
    for path in ("/cylinders/", f"/rooms/{room.uid}/gas/"):
        html = page(signed_in(owner), path)
        assert "This room has no number." in html
        assert "Measure it before a cylinder stands here." in html
        assert 'class="bt"' not in html.split("roomline")[1].split("</svg>")[0]


def test_the_cautions_stand_before_the_first_number_and_nothing_is_called_safe(house):
    owner, _tank, one = house
    room = measured(owner)
    client = signed_in(owner)
    for path in ("/cylinders/", f"/rooms/{room.uid}/gas/"):
        html = page(client, path)
        for caution in ("ompetent person", "not a clearance", "loor"):
            assert html.index(caution) < html.index("7,344"), (path, caution)
    for path in (
        "/cylinders/", f"/rooms/{room.uid}/gas/", f"/cylinders/{one.code}/",
        f"/cylinders/{one.code}/change/", f"/cylinders/{one.code}/place/",
        f"/cylinders/{one.code}/edit/", f"/cylinders/{one.code}/refill/", "/cylinders/add/",
    ):  # fmt: skip
        assert not re.search(r"\bsafe(ly|ty)?\b", words_of(page(client, path)), re.I), path


def test_the_foot_says_why_they_are_weighed(house):
    owner, _tank, one = house
    for path in ("/cylinders/", f"/cylinders/{one.code}/"):
        html = page(signed_in(owner), path)
        assert "Pressure tells nothing until about a quarter is left" in html
        assert "never moved by one person alone" in html


def test_the_formula_and_its_inputs_are_on_the_page_of_a_room(house):
    owner, _tank, _one = house
    room = measured(owner)
    html = page(signed_in(owner), f"/rooms/{room.uid}/gas/")
    assert "gas [g] / 1.84 [g/L] / 1000 / room" in html
    assert "2 kg of gas" in html
    assert "148 m³, measured 2024 by Maud" in html


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"volume_m3": "0"}, "0 m³ is not allowed. Allowed: 1 to 100,000 m³."),
        ({"volume_m3": "a lot"}, "This is no whole number. Allowed: 1 to 100,000 m³."),
        ({"volume_m3": ""}, "Empty. Measure the room; do not guess."),
        ({"measured_on": "2026-03-13"}, "13 March 2026 is still to come."),
        ({"measured_on": "yesterday"}, "This is no day. Allowed: a day such as 2021-05-01."),
        ({"measured_by": ""}, "Measured by"),
        ({"has_gas_alarm": ""}, "Say whether one hangs there."),
    ],
)
def test_a_room_measured_wrong_is_refused_and_what_was_typed_stays(house, typed, words):
    owner, _tank, _one = house
    room = a_room(owner.showroom)
    body = {
        "what": "room", "volume_m3": "148", "measured_by": "Maud Ellerkamp",
        "measured_on": "2024-03-01", "has_gas_alarm": "yes", **typed,
    }  # fmt: skip
    answer = signed_in(owner).post(f"/rooms/{room.uid}/gas/", body)
    assert answer.status_code == 422
    html = answer.content.decode()
    assert words in words_of(html)
    for name, value in body.items():
        if value and name not in {"what", "has_gas_alarm", "measured_on"}:
            assert f'value="{value}"' in html
    room.refresh_from_db()
    assert room.volume_m3 is None


def test_a_room_is_measured_and_its_alarm_read_on_its_page(house):
    owner, _tank, _one = house
    room = a_room(owner.showroom)
    client, path = signed_in(owner), f"/rooms/{room.uid}/gas/"
    body = {
        "what": "room", "volume_m3": "148", "measured_by": "Maud", "measured_on": "2024-03-01",
        "has_gas_alarm": "yes",
    }  # fmt: skip
    assert client.post(path, body).status_code == 302
    assert client.post(path, {"what": "air", "co2_ppm": "610", "rang": ""}).status_code == 302
    assert client.post(path, {"what": "air", "co2_ppm": "", "rang": "yes"}).status_code == 302
    html = page(client, path)
    assert "610 ppm, tested 12 Mar" in html
    assert RoomAirCheck.objects.count() == 2


@pytest.mark.parametrize(
    ("ppm", "where", "words"),
    [
        ("5200", "/rooms/", "above the 8-hour limit: everybody out"),
        ("16000", "/first-minute/gas/", ""),
    ],
)
def test_a_figure_above_a_limit_sends_people_out(house, ppm, where, words):
    owner, _tank, _one = house
    room = a_room(owner.showroom)
    client = signed_in(owner)
    answer = client.post(f"/rooms/{room.uid}/gas/", {"what": "air", "co2_ppm": ppm, "rang": ""})
    assert answer.status_code == 302
    assert answer["Location"].startswith(where)
    if words:
        assert words in page(client, answer["Location"])


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"co2_ppm": "12"}, "12 ppm is not allowed. Allowed: 300 to 100,000 ppm."),
        ({"co2_ppm": "x"}, "This is no whole number."),
        ({}, "Room air: nothing was read."),
    ],
)
def test_an_alarm_read_wrong_is_refused(house, typed, words):
    owner, _tank, _one = house
    room = a_room(owner.showroom)
    body = {"what": "air", "co2_ppm": "", "rang": "", **typed}
    answer = signed_in(owner).post(f"/rooms/{room.uid}/gas/", body)
    assert answer.status_code == 422
    assert words in words_of(answer.content.decode())


NEW = {
    "serial": "B-0417", "tare": "7.48 kg", "fill": "5 kg", "stamp": "2022/05",
    "tested_on": "2022-05-01", "test_rule": "adr_co2", "next_test_on": "", "regulator": "",
    "is_exchange": "refill", "held_by": "chained", "name": "", "content": "", "supplier": "",
    "room": "", "place": "cage", "tank": "",
}  # fmt: skip


def test_one_that_came_is_written_down_as_its_shoulder_says(house):
    owner, _tank, one = house
    body = {**NEW, "item": one.item.code}
    answer = signed_in(owner).post("/cylinders/add/", body)
    assert answer.status_code == 302
    detail = CylinderDetail.objects.get(serial="B-0417")
    assert (detail.stamp, detail.test_rule, detail.next_test_on) == (
        "2022/05", "adr_co2", date(2032, 5, 1),
    )  # fmt: skip
    assert detail.container.place == "cage"
    html = page(signed_in(owner), f"/cylinders/{detail.container.code}/")
    assert "ADR countries, CO2: 10 years" in html
    assert "It waits full" in html


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"serial": ""}, "Empty. Read it off the cylinder."),
        ({"tare": ""}, "Empty. Read it off the stamp, in g or kg."),
        ({"tare": "heavy"}, "Tare"),
        ({"tare": "-3"}, "Tare"),
        ({"fill": "70 kg"}, "Fill: 70 kg is not allowed."),
        ({"tested_on": "2027-01-01"}, "Last test: 1 January 2027 is still to come."),
        ({"tested_on": ""}, "Last test: Without it a rule has nothing to count from."),
        ({"test_rule": "typed"}, "Next test: nothing was given."),
        ({"content": "6 kg"}, "Content: 6 kg is more than it holds."),
        ({"is_exchange": ""}, "Say whether it is exchanged or refilled."),
    ],
)
def test_a_shoulder_read_wrong_is_refused_and_what_was_typed_stays(house, typed, words):
    owner, _tank, one = house
    body = {**NEW, "item": one.item.code, **typed}
    answer = signed_in(owner).post("/cylinders/add/", body)
    html = answer.content.decode()
    assert answer.status_code == 422
    assert words in words_of(html)
    assert 'value="chained"' in html
    assert not CylinderDetail.objects.filter(serial="B-0417").exists()


def test_a_tank_with_a_cylinder_is_changed_and_not_connected_over(house):
    owner, tank, one = house
    body = {**NEW, "item": one.item.code, "tank": tank.codes.get().code}
    answer = signed_in(owner).post("/cylinders/add/", body)
    assert answer.status_code == 422
    assert "choose Change it" in words_of(answer.content.decode())


def test_there_is_no_hidden_default_for_the_next_test(house):
    owner, _tank, one = house
    html = page(signed_in(owner), "/cylinders/add/")
    chosen = re.search(r'<select name="test_rule".*?</select>', html, re.S)[0]
    assert "selected" in chosen.split("</option>")[0]
    assert "nobody said" in chosen.split("</option>")[0]
    body = {**NEW, "item": one.item.code, "test_rule": ""}
    signed_in(owner).post("/cylinders/add/", body)
    detail = CylinderDetail.objects.get(serial="B-0417")
    assert detail.next_test_on is None
    html = page(signed_in(owner), f"/cylinders/{detail.container.code}/")
    assert "next test: nobody said" in html
    refused = signed_in(owner).post(
        f"/cylinders/{detail.container.code}/refill/",
        {"gross": "", "scale": a_scale(owner.showroom).name, "second": ""},
    )
    assert refused.status_code == 422
    assert "nobody wrote down when its next test is due" in words_of(refused.content.decode())


def test_shares_are_typed_and_shown_as_estimates(house):
    owner, tank, one = house
    sign_off(owner)
    other = a_tank(showroom=owner.showroom)
    codes = [t.codes.get().code for t in (tank, other)]
    client, path = signed_in(owner), f"/cylinders/{one.code}/place/"
    body = {
        "room": "", "place": "plinth", "held_by": "chain", "second": "",
        "tank_1": codes[0], "share_1": "600", "tank_2": codes[1], "share_2": "300",
        "tank_3": "", "share_3": "", "tank_4": "", "share_4": "",
    }  # fmt: skip
    refused = client.post(path, body)
    assert refused.status_code == 422
    assert "they are 900 thousandths in all" in words_of(refused.content.decode())
    assert client.post(path, {**body, "share_2": "400"}).status_code == 302
    assert "share of 2 tanks, estimated" in page(client, "/cylinders/")
    assert "600 of 1000, estimated" in page(client, f"/cylinders/{one.code}/")


def test_empty_is_marked_and_wiped_off_and_it_leaves_with_a_reason(house):
    owner, _tank, one = house
    waits = a_cylinder(one.item, serial="K-9")
    client = signed_in(owner)
    client.post(f"/cylinders/{waits.code}/mark/", {"empty": "yes"})
    assert "one marked EMPTY" in page(client, "/cylinders/")
    client.post(f"/cylinders/{waits.code}/mark/", {"empty": "no"})
    assert "one full one waits" in page(client, "/cylinders/")
    client.post(f"/cylinders/{one.code}/mark/", {"empty": "yes"})
    assert "is connected to a tank" in page(client, f"/cylinders/{one.code}/")
    path = f"/cylinders/{waits.code}/retire/"
    assert client.post(path, {"reason": ""}).status_code == 422
    assert client.post(path, {"reason": "valve bent"}).status_code == 302
    assert client.get(f"/cylinders/{waits.code}/").status_code == 404


def test_words_of_people_are_no_markup(house):
    owner, _tank, _one = house
    bad = "<img src=x>"
    a_cylinder(a_gas(owner.showroom), serial=bad, held_by=bad, place=bad, stamp=bad)
    html = page(signed_in(owner), "/cylinders/")
    assert "<img src=x>" not in html
    assert "&lt;img src=x&gt;" in html
