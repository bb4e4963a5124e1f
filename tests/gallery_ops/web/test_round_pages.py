"""Today's rounds, the shell that walks one, its end; a stranger's answers like none."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from jsonschema import Draft202012Validator

from gallery_ops.kernel import clock
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.services.devices import enrol_device, make_enrolment_code
from gallery_ops.overview.who import DEVICE_COOKIE, SHOWROOM_KEY
from maintenance.models import Action, Round
from maintenance.queries.round_pack import round_pack
from maintenance.queries.rounds import before_json, next_seq, rounds_of_day
from maintenance.services import due_tasks
from maintenance.services.rota import plan_shift
from maintenance.services.rounds import ensure_rounds
from tanks.models import Position
from tanks.services.placements import add_tank
from tanks.services.places import add_position, add_zone
from tests.built_once import built_once
from tests.maintenance.house import House, a_carer, a_house, a_tank

ROOT = Path(__file__).parents[3]
ON = date(2026, 3, 12)
AT = datetime(2026, 3, 12, 7, 30, tzinfo=UTC)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: AT)


def signed_in(membership: Membership) -> Client:
    """A browser in which this person has signed in."""
    client = Client()
    client.force_login(membership.person, backend="django.contrib.auth.backends.ModelBackend")
    session = client.session
    session[SHOWROOM_KEY] = membership.showroom_id
    session.save()
    return client


def a_morning(code: str = "undershore", tanks: int = 2) -> House:
    """A gallery with tanks, one of them empty, and today's rounds and tasks."""
    house = a_house(code)
    for n in range(1, tanks + 1):
        a_tank(house, f"T{n:02}", stage="" if n == 2 else "show")
    due_tasks.ensure(showroom=house.showroom, at=AT)
    ensure_rounds(showroom=house.showroom, on=ON, at=AT)
    return house


built, house = built_once(a_morning)


def opening(house: House) -> Round:
    """This morning's round."""
    return Round.objects.get(showroom=house.showroom, kind="opening", business_on=ON)


def test_the_list_says_first_which_round_is_to_walk(house: House) -> None:
    page = signed_in(a_carer(house, "Bram Tolliver")).get("/rounds/")
    text = page.content.decode()
    assert page.status_code == 200
    assert "Opening of zone A is to walk now:" in text
    assert "0 of 1 seen." in text
    assert f"/rounds/{opening(house).code}/" in text


def test_the_list_says_at_how_many_stops_nothing_is_to_do(house: House) -> None:
    text = signed_in(a_carer(house, "Bram Tolliver")).get("/rounds/").content.decode()
    rows = {row.kind: row for row in rounds_of_day(house.showroom, ON)}
    assert (rows["midday"].places, rows["midday"].tasks) == (2, 1)
    assert text.count("2 stops, 1 with nothing to do; 0 of ") == 2
    assert "2 stops, 1 with nothing to do; 0 of 1 tasks done." in text


def test_at_midday_an_opening_that_nobody_began_is_named_with_the_way_to_it(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = signed_in(a_carer(house, "Bram Tolliver"))
    said = "Still open from earlier today:"
    assert said not in client.get("/rounds/").content.decode()
    noon = AT.replace(hour=13)
    monkeypatch.setattr(clock, "now", lambda: noon)
    first = opening(house)
    line = client.get("/rounds/").content.decode().split(said)[1].split("</p>")[0]
    assert f'href="/rounds/{first.code}/"' in line
    assert "not begun, 3 tasks to do." in line
    assert "Midday" not in line
    midday = Round.objects.get(showroom=house.showroom, kind="midday", business_on=ON)
    (told,) = before_json(midday)
    assert (told["id"], told["tasks"], told["opened_at"]) == (str(first.uid), 3, None)
    assert before_json(first) == []
    client.post(f"/rounds/{first.code}/close/")
    assert said not in client.get("/rounds/").content.decode()
    assert before_json(midday) == []


def test_a_carer_is_led_to_the_round_of_the_own_zone(house: House) -> None:
    room = Position.objects.of(house.showroom).earliest("pk").room
    other = add_zone(showroom=house.showroom, code="B", by=house.owner, at=AT)
    place = add_position(
        room=room, zone=other, name="by the stair", walking_order=9, by=house.owner, at=AT
    )
    add_tank(
        showroom=house.showroom, code="T09", length_mm=600, width_mm=300, height_mm=360,
        glass_mm=6, by=house.owner, at=AT, position=place,
    )  # fmt: skip
    ensure_rounds(showroom=house.showroom, on=ON, at=AT)
    bram = a_carer(house, "Bram Tolliver")
    assert "Opening of zone A is to walk now:" in signed_in(bram).get("/rounds/").content.decode()
    plan_shift(
        showroom=house.showroom, person=bram.person, from_at=AT, to_at=AT + timedelta(hours=8),
        by=house.owner, at=AT, zone=other,
    )  # fmt: skip
    assert "Opening of zone B is to walk now:" in signed_in(bram).get("/rounds/").content.decode()


def test_without_rounds_they_are_laid_out_by_one_button() -> None:
    house = a_house("bare")
    a_tank(house, "T01")
    client = signed_in(a_carer(house, "Bram Tolliver"))
    assert "No round is laid out for today." in client.get("/rounds/").content.decode()
    assert client.post("/rounds/").status_code == 302
    assert {row.kind for row in rounds_of_day(house.showroom, ON)} == {
        "opening", "midday", "closing",
    }  # fmt: skip


def test_the_shell_names_pack_outbox_device_and_the_next_count(house: House) -> None:
    code = make_enrolment_code(showroom=house.showroom, by=house.owner, at=AT)
    enrolled = enrol_device(code=code, name="tablet of zone A", at=AT)
    client = signed_in(a_carer(house, "Bram Tolliver"))
    client.cookies[DEVICE_COOKIE] = enrolled.token
    text = client.get(f"/rounds/{opening(house).code}/").content.decode()
    assert f'data-pack="/api/v1/rounds/{opening(house).uid}/pack"' in text
    assert f'data-device="{enrolled.device.uid}"' in text
    assert 'data-next-seq="1"' in text
    assert 'data-proof="session"' in text
    assert "needs scripts" in text.split("<noscript>")[1]


def test_a_device_counts_on_from_the_highest_that_was_kept(house: House) -> None:
    code = make_enrolment_code(showroom=house.showroom, by=house.owner, at=AT)
    device = enrol_device(code=code, name="tablet of zone A", at=AT).device
    device.last_seq = 4
    assert next_seq(device) == 5


def test_closing_at_a_desk_goes_through_the_log_of_actions(house: House) -> None:
    client = signed_in(a_carer(house, "Bram Tolliver"))
    address = f"/rounds/{opening(house).code}/close/"
    assert "0 of 1 seen." in client.get(address).content.decode()
    assert client.post(address).status_code == 302
    assert opening(house).closed_at == AT
    assert [row.kind for row in Action.objects.all()] == ["round_close"]
    assert "Closed 07:30" in client.get(address).content.decode()


@pytest.mark.parametrize("path", ["", "skip/", "close/"])
def test_a_strangers_round_answers_like_none(path: str, house: House) -> None:
    other = a_morning("elsewhere")
    client = signed_in(a_carer(house, "Bram Tolliver"))
    strangers = client.get(f"/rounds/{opening(other).code}/{path}")
    nobodys = client.get(f"/rounds/ZZZZZZZZ/{path}")
    assert strangers.status_code == nobodys.status_code == 404
    assert client.post(f"/rounds/{opening(other).code}/close/").status_code == 404
    assert opening(other).closed_at is None


def test_whoever_may_not_record_is_told_who_may(house: House) -> None:
    page = signed_in(a_carer(house, "Corvin Aldaye", role="guest_designer")).get("/rounds/")
    assert page.status_code == 403


@pytest.mark.once
def test_pages_ask_no_more_for_many_tanks() -> None:
    counts = []
    for code, tanks in (("small", 3), ("large", 30)):
        house = a_morning(code, tanks)
        client = signed_in(a_carer(house, "Bram Tolliver"))
        for path in ("", f"{opening(house).code}/", f"{opening(house).code}/close/"):
            client.get(f"/rounds/{path}")
            with CaptureQueriesContext(
                connection,
            ) as queries:
                assert client.get(f"/rounds/{path}").status_code == 200
            counts.append(len(queries))
    assert counts[:3] == counts[3:]


def test_example_and_pack_have_the_agreed_shape(house: House) -> None:
    """The tablet's tests run on the example; what the gallery really packs has the same shape."""
    schema = json.loads((ROOT / "gallery_ops/api/round_pack.schema.json").read_text("utf-8"))
    Draft202012Validator.check_schema(schema)
    packed = round_pack(house.showroom, opening(house), a_carer(house, "Bram Tolliver"), AT)
    example = json.loads((ROOT / "tests/js/pack.example.json").read_text("utf-8"))
    midday = Round.objects.get(showroom=house.showroom, kind="midday", business_on=ON)
    later = round_pack(house.showroom, midday, a_carer(house, "Odile Marsh"), AT)
    assert later["before"]
    for pack in (example, packed, later):
        found = [e.message for e in Draft202012Validator(schema).iter_errors(pack)]
        assert found == []
    del example["stops"][0]["doses"]
    assert list(Draft202012Validator(schema).iter_errors(example))


def test_the_example_of_twenty_tanks_stays_under_its_limit() -> None:
    """300 kB for 20 tanks without pictures is what a pack may weigh."""
    example = json.loads((ROOT / "tests/js/pack.example.json").read_text("utf-8"))
    assert len(example["stops"]) == 20
    assert len(json.dumps(example, separators=(",", ":")).encode()) < 300_000
