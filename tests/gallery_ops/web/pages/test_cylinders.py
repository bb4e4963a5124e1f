"""Do the pages of gas say number, shape and caution, refuse with words, and change step by step?"""

from __future__ import annotations

import re
import time
from datetime import date, timedelta

import pytest

from gallery_ops.kernel import clock
from gallery_ops.kernel.services.people import grant_skill
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Container, CylinderDetail, Supply
from inventory.services.cylinder_change import STEPS
from maintenance.models import Completion, DueTask, TaskTemplate
from maintenance.services.templates import load_templates
from tanks.models import RoomAirCheck
from tanks.services.rooms import measure_room
from tests.builders.gallery import AT, a_person, a_room, a_showroom, a_tank, an_owner
from tests.builders.stock import a_cylinder, a_gas, a_plan, a_scale
from tests.gallery_ops.web.pages.addresses import signed_in

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch):
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


@pytest.fixture
def house():
    showroom = a_showroom()
    owner = an_owner(showroom)
    tank = a_tank(showroom=showroom)
    gas = a_gas(showroom)
    one = a_cylinder(
        gas, tank=tank, fill=Mass.kg(2), tare=Mass.g(3120), at=AT - timedelta(days=60),
        regulator=Mass.g(640), held_by="chained", place="behind it",
        next_test_on=date(2031, 5, 1), test_rule="typed", tested_on=date(2021, 5, 1),
    )  # fmt: skip
    a_plan(tank, gas, Mass.g(8), purpose="gas", at=AT - timedelta(days=60))
    return owner, tank, one


def measured(owner, **changes):
    room = a_room(owner.showroom)
    fields = {"volume_m3": 148, "has_gas_alarm": True, **changes}
    return measure_room(
        room=room, measured_by="Maud", measured_on=date(2024, 3, 1), by=owner, at=AT, **fields
    )


def sign_off(member):
    grant_skill(
        membership=member, skill="C3", by=an_owner(member.showroom), signed_off_on=date(2026, 1, 1),
        at=AT,
    )  # fmt: skip


def page(client, path):
    answer = client.get(path)
    assert answer.status_code == 200, path
    return answer.content.decode()


def words_of(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


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


def test_who_may_change_it_is_said_to_who_may_not(house):
    owner, _tank, one = house
    carer = a_person(showroom=owner.showroom)
    path = f"/cylinders/{one.code}/change/"
    html = page(signed_in(carer), path)
    assert "Nobody here is signed off for it" in html
    assert 'name="tick"' not in html
    sign_off(owner)
    html = page(signed_in(carer), path)
    assert f"Signed off: {owner.person.name}." in html
    assert 'name="tick"' not in html
    refused = signed_in(carer).post(path, _all_said(carer, one))
    assert refused.status_code == 422
    assert "This needs C3" in words_of(refused.content.decode())
    assert Supply.objects.still().filter(container=one).exists()


def test_each_tick_keeps_its_time_and_what_was_typed(house):
    owner, _tank, one = house
    sign_off(owner)
    client, path = signed_in(owner), f"/cylinders/{one.code}/change/"
    html = client.post(path, {"tick": "alarm", "serial": "NEW 7"}).content.decode()
    stamp = re.search(r'name="step_alarm" value="([^"]+)"', html)[1]
    assert stamp.startswith("2026-03-12T08:08")
    assert 'value="NEW 7"' in html
    body = {"step_alarm": stamp, "tick": "stamp", "serial": "NEW 7"}
    html = client.post(path, body).content.decode()
    assert f'name="step_alarm" value="{stamp}"' in html
    assert 'name="step_stamp"' in html
    assert 'class="is-next" id="step_close"' in html
    html = client.post(path, {"step_alarm": stamp, "tick": "alarm"}).content.decode()
    assert 'name="step_alarm"' not in html, "a second tap takes it back"


def _all_said(owner, one, **changes):
    at = clock.now() - timedelta(minutes=5)
    return {
        **{f"step_{step}": at.isoformat() for step in STEPS},
        "came": "came", "new": "", "serial": "NEW 7", "tare": "3.14 kg", "fill": "2 kg",
        "stamp": "2024/05", "tested_on": "2024-05-01", "test_rule": "", "next_test_on": "",
        "supplier": "", "room_ppm": "560", "bubbles": "no", "gross_out": "3860",
        "out_regulator": "on", "gross_in": "5.78 kg", "in_regulator": "on",
        "scale": a_scale(owner.showroom).name, "washer": "", "second": "", "old_stays": "stays",
        **changes,
    }  # fmt: skip


def test_a_change_is_booked_with_room_air_and_the_task_that_asked_for_it(house):
    owner, tank, one = house
    sign_off(owner)
    load_templates(showroom=owner.showroom, at=AT)
    template = TaskTemplate.objects.get(showroom=owner.showroom, key="cylinder_change")
    task = DueTask.objects.create(
        showroom=owner.showroom, template=template, tank=tank, subject_key=f"tank:{tank.pk}",
        occurrence_key="2026-03-14", due_on=date(2026, 3, 14), due_at=AT + timedelta(days=2),
    )  # fmt: skip
    client = signed_in(owner)
    answer = client.post(f"/cylinders/{one.code}/change/", _all_said(owner, one))
    assert answer.status_code == 302
    new = Container.objects.get(cylinder__serial="NEW 7")
    assert [s.tank for s in Supply.objects.still().filter(container=new)] == [tank]
    assert CylinderDetail.objects.get(container=one).is_marked_empty
    assert RoomAirCheck.objects.get().co2_ppm == 560
    task.refresh_from_db()
    assert task.state == "done"
    done = Completion.objects.get(due_task=task)
    assert done.answers["serial"] == "NEW 7"
    assert set(STEPS) < set(done.answers)
    assert "Look at the drop checker" in page(client, answer["Location"])


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"step_soap": ""}, "1 of 13 steps are not ticked yet."),
        ({"bubbles": "yes"}, "Bubbles came: it leaks"),
        ({"bubbles": ""}, "nobody said whether bubbles came"),
        ({"tested_on": ""}, "nobody read its test stamp"),
        ({"tested_on": "2010-05-01", "test_rule": "adr_co2"}, "its test ran out on 1 May 2020"),
        ({"fill": "5 kg", "tare": "7 kg", "gross_in": ""}, "two people move it"),
        ({"came": "store"}, "none of the store was chosen"),
        ({"came": ""}, "Say where the new one comes from."),
        ({"old_stays": ""}, "Say where the old one goes."),
        ({"scale": ""}, "Scale: none was named."),
        ({"room_ppm": "20"}, "20 ppm is not allowed"),
        ({"gross_out": "1000"}, "is less than"),
        ({"serial": ""}, "Serial: nothing was given."),
    ],
)
def test_a_change_that_is_not_done_is_not_booked_at_all(house, said, words):
    owner, _tank, one = house
    sign_off(owner)
    body = _all_said(owner, one, **said)
    answer = signed_in(owner).post(f"/cylinders/{one.code}/change/", body)
    assert answer.status_code == 422
    html = answer.content.decode()
    assert words in words_of(html)
    if body["serial"]:
        assert 'value="NEW 7"' in html
    assert html.count('type="hidden" name="step_') == sum(1 for s in STEPS if body[f"step_{s}"])
    assert Supply.objects.still().filter(container=one).exists()
    assert not RoomAirCheck.objects.exists()
    assert not CylinderDetail.objects.filter(serial="NEW 7").exists()


def test_a_spare_of_the_store_is_offered_and_put_up(house):
    owner, tank, one = house
    sign_off(owner)
    spare = a_cylinder(one.item, fill=Mass.kg(2), serial="K-9", tested_on=date(2024, 1, 1))
    client = signed_in(owner)
    assert "one full one waits." in words_of(page(client, "/cylinders/"))
    path = f"/cylinders/{one.code}/change/"
    assert "K-9, 2 kg of 2 kg" in page(client, path)
    body = _all_said(owner, one, came="store", new=spare.code, gross_in="", old_stays="leaves")
    assert client.post(path, body).status_code == 302
    assert Supply.objects.still().get(tank=tank).container == spare
    one.refresh_from_db()
    assert one.finished_on == date(2026, 3, 12)
    assert client.get(f"/cylinders/{one.code}/").status_code == 404


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
