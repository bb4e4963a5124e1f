"""The pack of a round: whole, remembered by its tag, for people of this gallery only."""

from __future__ import annotations

import pytest
from django.test import Client

from tests.built_once import built_once
from tests.gallery_ops.api.asking import a_batch as a_batch_of
from tests.gallery_ops.api.asking import (
    a_browser,
    a_morning,
    a_note,
    a_program,
    a_tablet,
    enrolled,
    is_problem,
    opening,
    schema_of,
    send,
    verdicts,
    where,
)
from tests.maintenance.house import House, a_carer, a_tank

pytestmark = pytest.mark.django_db

built, house = built_once(a_morning)


def address(house: House) -> str:
    return f"/api/v1/rounds/{opening(house).uid}/pack"


def test_the_pack_is_what_its_schema_says_with_drawings_and_all_cards(house: House) -> None:
    a_tank(house, "T09", stage="")
    pack = a_browser(house.owner).get(address(house)).json()
    trouble = list(schema_of("gallery_ops/api/round_pack.schema.json").iter_errors(pack))
    assert trouble == []
    assert sorted(card["code"] for card in pack["cards"]) == [
        "ammonia", "deaths", "escaped", "gas", "gasping", "glass", "heater_off", "heater_on",
        "hurt", "power", "spray", "tap_water", "water", "wrong_dose",
    ]  # fmt: skip
    by_code = {tank["code"]: tank for tank in pack["tanks"]}
    assert by_code["T01"]["drawing"].startswith("/drawings/")
    assert by_code["T01"]["drawing"] != by_code["T01"]["drawing_small"]
    assert by_code["T01"]["state"] == "to_do"
    assert by_code["T09"]["state"] == "empty"


def test_a_drawing_of_the_pack_can_be_fetched(house: House) -> None:
    browser = a_browser(house.owner)
    drawing = browser.get(address(house)).json()["tanks"][0]["drawing"]
    answer = browser.get(drawing)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "image/svg+xml"


def test_an_unchanged_pack_is_not_sent_again_and_a_changed_one_is(house: House) -> None:
    browser = a_browser(house.owner)
    tag = browser.get(address(house))["ETag"]
    again = browser.get(address(house), headers={"If-None-Match": tag})
    assert (again.status_code, again.content) == (304, b"")
    note = a_note(house, "T01 looks pale.", **where(house, "T01", "look"))
    tablet = enrolled(house)
    assert verdicts(send(a_tablet(tablet), a_batch_of(str(tablet.device.uid), note))) == [
        "accepted"
    ]
    changed = browser.get(address(house), headers={"If-None-Match": tag})
    assert changed.status_code == 200
    stops = {stop["tank"]: stop for stop in changed.json()["stops"]}
    assert stops["T01"]["entries"][0]["body"] == {"text": "T01 looks pale."}


def test_another_gallerys_round_answers_like_one_that_is_not_there(house: House) -> None:
    other = a_morning("otherhall")
    browser = a_browser(house.owner)
    foreign = is_problem(browser.get(address(other)), 404, "unknown")
    nowhere = "/api/v1/rounds/019526a1-0000-7000-8000-000000000000/pack"
    assert is_problem(browser.get(nowhere), 404, "unknown") == foreign


def test_nobody_and_a_guest_get_no_pack(house: House) -> None:
    is_problem(Client().get(address(house)), 401, "sign_in_first")
    is_problem(a_tablet(enrolled(house)).get(address(house)), 401, "sign_in_first")
    guest = a_carer(house, "Gita Rowe", role="guest_designer")
    is_problem(a_browser(guest).get(address(house)), 403, "not_allowed")
    reader = a_program(house, "read")
    is_problem(Client().get(address(house), headers=reader), 403, "not_allowed")


def test_a_program_that_may_record_gets_the_pack(house: House) -> None:
    answer = Client().get(address(house), headers=a_program(house, "read", "record"))
    assert answer.status_code == 200


def test_the_pack_travels_compressed_where_that_is_asked_for(house: House) -> None:
    answer = a_browser(house.owner).get(address(house), headers={"Accept-Encoding": "gzip"})
    assert answer["Content-Encoding"] == "gzip"
    tag = answer["ETag"]
    again = a_browser(house.owner).get(address(house), headers={"If-None-Match": tag})
    assert again.status_code == 304
