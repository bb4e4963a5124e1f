"""Is a cylinder changed step by step, by who may, and booked only when all of it is done?"""

from __future__ import annotations

import json
import re
import time
from datetime import date, timedelta

import pytest

from gallery_ops.kernel import clock
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Container, CylinderDetail, Supply, Weighing
from inventory.services.cylinder_steps import PUT_UP, STEPS, TAKE_DOWN
from maintenance.models import Action, Completion, DueTask, TaskTemplate
from maintenance.services.templates import load_templates
from tanks.models import RoomAirCheck
from tests.builders.gallery import AT, a_person, a_tank
from tests.builders.stock import a_cylinder, a_scale
from tests.built_once import built_once
from tests.gallery_ops.web.pages.addresses import signed_in
from tests.gallery_ops.web.pages.gas_house import gas_house, measured, page, sign_off, words_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch):
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


built, house = built_once(gas_house)


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


def held_weighing():
    """Which container, and how much the scale showed [mg], of the one weighing that waits."""
    held = Action.objects.get(kind="weigh", verdicts__code="overfilled")
    body = json.loads(held.canonical)["body"]
    return body["container"], body["gross_mg"]


def test_a_new_one_above_its_fill_is_up_and_its_weighing_waits_for_a_person(house):
    owner, tank, one = house
    sign_off(owner)
    client = signed_in(owner)
    # 3,140 g tare, 412 g regulator, 2,000 g fill: 50 g more is refused, 6 kg cannot be
    answer = client.post(f"/cylinders/{one.code}/change/", _all_said(owner, one, gross_in="6 kg"))
    assert answer.status_code == 302
    new = Container.objects.get(cylinder__serial="NEW 7")
    assert [s.tank for s in Supply.objects.still().filter(container=new)] == [tank]
    assert not Weighing.objects.filter(container=new).exists()
    assert Weighing.objects.filter(container=one).exists(), "the old one was weighed all right"
    assert held_weighing() == (new.code, 6_000_000)
    said = words_of(page(client, answer["Location"]))
    for words in ("Kept, not counted", "Weigh again", "do not use or warm it", "ring the supplier"):
        assert words in said


def test_one_that_comes_back_above_its_fill_is_not_booked_and_its_weighing_waits(house):
    owner, _tank, one = house
    own = a_cylinder(
        one.item, serial="B-1", fill=Mass.kg(2), tare=Mass.g(3120), content=Mass.g(100),
        is_exchange=False, next_test_on=date(2030, 1, 1), test_rule="typed",
    )  # fmt: skip
    client, path = signed_in(owner), f"/cylinders/{own.code}/refill/"
    scale = a_scale(owner.showroom).name
    away = {"gross": "3220", "scale": scale, "second": ""}
    assert client.post(path, away).status_code == 302
    back = {
        "gross": "6 kg", "scale": scale, "second": "", "stamp": "2024/05",
        "tested_on": "2024-05-01", "test_rule": "adr_co2", "next_test_on": "",
    }  # fmt: skip
    answer = client.post(path, back)
    assert answer.status_code == 422
    assert "do not use or warm it" in words_of(answer.content.decode())
    assert CylinderDetail.objects.get(container=own).away_on is not None
    assert held_weighing() == (own.code, 6_000_000)


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


def test_one_that_hangs_nowhere_is_not_changed_and_a_second_press_books_nothing(house):
    owner, _tank, one = house
    sign_off(owner)
    client, body = signed_in(owner), _all_said(owner, one)
    assert client.post(f"/cylinders/{one.code}/change/", body).status_code == 302
    again = client.post(f"/cylinders/{one.code}/change/", body)
    assert again.status_code == 302
    assert "there is nothing to change" in page(client, again["Location"])
    assert CylinderDetail.objects.filter(serial="NEW 7").count() == 1


def test_ones_own_goes_away_and_comes_back_by_its_page(house):
    owner, _tank, one = house
    own = a_cylinder(
        one.item, serial="B-1", fill=Mass.kg(2), tare=Mass.g(3120), content=Mass.g(100),
        is_exchange=False, next_test_on=date(2030, 1, 1), test_rule="typed",
    )  # fmt: skip
    client, path = signed_in(owner), f"/cylinders/{own.code}/refill/"
    scale = a_scale(owner.showroom).name
    assert "goes away to be filled" in words_of(page(client, path))
    assert client.post(path, {"gross": "3210", "scale": scale, "second": ""}).status_code == 302
    assert "one away for a refill" in words_of(page(client, "/cylinders/"))
    body = {
        "gross": "5.11 kg", "scale": scale, "second": "", "stamp": "2026/03",
        "tested_on": "2026-03-05", "test_rule": "adr_co2", "next_test_on": "",
    }  # fmt: skip
    for change, words in (
        ({"gross": ""}, "Empty."),
        ({"gross": "3.2 kg"}, "it was not filled"),
        ({"gross": "6 kg"}, "ring the supplier"),
        ({"tested_on": "", "test_rule": ""}, "nobody wrote down when its next test is due"),
    ):
        refused = client.post(path, {**body, **change})
        assert refused.status_code == 422, words
        assert words in words_of(refused.content.decode())
    assert client.post(path, body).status_code == 302
    html = words_of(page(client, f"/cylinders/{own.code}/"))
    assert "1,990 g of 2,000" in html
    assert "2036" in html


def test_a_carer_reads_the_alarm_and_does_not_measure_the_room(house):
    owner, _tank, _one = house
    room = measured(owner)
    carer = signed_in(a_person(showroom=owner.showroom))
    path = f"/rooms/{room.uid}/gas/"
    assert carer.post(path, {"what": "air", "co2_ppm": "480", "rang": ""}).status_code == 302
    body = {
        "what": "room", "volume_m3": "900", "measured_by": "Me", "measured_on": "2026-03-12",
        "has_gas_alarm": "yes",
    }  # fmt: skip
    assert carer.post(path, body).status_code == 403
    room.refresh_from_db()
    assert room.volume_m3 == 148


def test_one_of_the_store_goes_up_step_by_step_where_none_hangs(house):
    owner, _tank, one = house
    spare = a_cylinder(one.item, serial="K-9")
    bare = a_tank(showroom=owner.showroom)
    client, path = signed_in(owner), f"/cylinders/{spare.code}/place/"
    body = {
        "room": "", "place": "plinth", "held_by": "chain", "second": "", "bubbles": "no",
        "tank_1": bare.codes.get().code, **{f"tank_{n}": "" for n in (2, 3, 4)},
        **{f"share_{n}": "" for n in (1, 2, 3, 4)},
    }  # fmt: skip
    refused = client.post(path, body)
    assert "This needs C3" in words_of(refused.content.decode())
    sign_off(owner)
    html = client.post(path, {**body, "tick": "alarm"}).content.decode()
    assert 'name="step_alarm" value="2026-03-12T08:08' in html
    assert 'value="plinth"' in html
    refused = client.post(path, body)
    assert refused.status_code == 422
    assert "9 of 9 steps are not ticked yet." in words_of(refused.content.decode())
    steps = {f"step_{step}": clock.now().isoformat() for step in PUT_UP}
    refused = client.post(path, {**body, **steps, "bubbles": "yes"})
    assert "Bubbles came" in words_of(refused.content.decode())
    assert client.post(path, {**body, **steps}).status_code == 302
    assert Supply.objects.still().get(tank=bare).container == spare


def test_ones_own_comes_down_step_by_step_before_it_is_sent(house):
    owner, tank, one = house
    sign_off(owner)
    CylinderDetail.objects.filter(container=one).update(is_exchange=False)
    client, path = signed_in(owner), f"/cylinders/{one.code}/refill/"
    body = {"gross": "", "scale": a_scale(owner.showroom).name, "second": ""}
    refused = client.post(path, body)
    assert refused.status_code == 422
    assert "5 of 5 steps are not ticked yet." in words_of(refused.content.decode())
    steps = {f"step_{step}": clock.now().isoformat() for step in TAKE_DOWN}
    assert client.post(path, {**body, **steps}).status_code == 302
    assert not Supply.objects.still().filter(tank=tank).exists()
