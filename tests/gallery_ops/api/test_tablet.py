"""The tablet knows its people without us, and tells afterwards what was tried."""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client, override_settings

from gallery_ops.kernel.models import AuditEntry, SignInTry
from gallery_ops.kernel.services.devices import Enrolled
from gallery_ops.kernel.services.pins import set_pin
from tests.built_once import built_once
from tests.gallery_ops.api.asking import (
    AT,
    OWN,
    a_browser,
    a_morning,
    a_tablet,
    enrolled,
    is_problem,
    opening,
    schema_of,
)
from tests.maintenance.house import House, a_carer

pytestmark = pytest.mark.django_db
PIN = "294063"
SIGN_IN = "/api/v1/tablet/sign-in"
TRIES = "/api/v1/tablet/tries"
IN_USE = 600_000  # the schema of a pack allows no fewer rounds


@override_settings(PIN_ITERATIONS=IN_USE)
def _build() -> House:
    house = a_morning(tanks=1)
    set_pin(membership=house.owner, pin=PIN, by=house.owner, at=AT)
    return house


built, house = built_once(_build)


@pytest.fixture(autouse=True)
def _rounds_in_use() -> Iterator[None]:
    with override_settings(PIN_ITERATIONS=IN_USE):
        yield


def post(client: Client, path: str, body: Any) -> Any:
    return client.post(path, body, content_type="application/json", headers=OWN)


@pytest.fixture
def tablet(house: House) -> Enrolled:
    return enrolled(house)


def pin_in_pack(house: House, tablet: Enrolled | None) -> tuple[dict[str, Any], dict[str, Any]]:
    browser = a_browser(house.owner)
    if tablet is not None:
        browser.cookies.load(a_tablet(tablet).cookies)
    pack = browser.get(f"/api/v1/rounds/{opening(house).uid}/pack").json()
    assert not list(schema_of("gallery_ops/api/round_pack.schema.json").iter_errors(pack))
    return pack, next(p for p in pack["people"] if p["id"] == str(house.owner.person.uid))


def test_what_the_pack_holds_knows_the_pin_on_this_tablet_and_on_no_other(
    house: House, tablet: Enrolled
) -> None:
    # Source: RFC 8018, 5.2 (PBKDF2) and RFC 2104 (HMAC), worked out here by hashlib and hmac.
    pack, person = pin_in_pack(house, tablet)
    pin = person["pin"]
    assert pin["iterations"] == IN_USE
    own = bytes.fromhex(pin["salt"])
    base = hashlib.pbkdf2_hmac("sha256", PIN.encode(), own, pin["iterations"])
    salt = bytes.fromhex(pack["tablet"]["pin_salt"])
    assert hmac.new(salt, base, "sha256").hexdigest() == pin["verifier"]
    assert base.hex() not in str(pack)
    _other, same = pin_in_pack(house, enrolled(house))
    assert (same["pin"]["salt"], same["pin"]["verifier"] != pin["verifier"]) == (pin["salt"], True)


def test_a_desk_and_somebody_without_a_pin_get_no_verifier(house: House, tablet: Enrolled) -> None:
    pack, person = pin_in_pack(house, None)
    assert "pin" not in person
    assert "tablet" not in pack
    a_carer(house, "Bram Tolliver")
    pack, _person = pin_in_pack(house, tablet)
    assert [p["name"] for p in pack["people"] if "pin" in p] == ["Maud Ellerkamp"]


def test_the_next_person_signs_in_where_the_round_goes_on(house: House, tablet: Enrolled) -> None:
    client = a_tablet(tablet)
    body = {"person_id": str(house.owner.person.uid), "pin": PIN}
    answer = post(client, SIGN_IN, body)
    assert answer.status_code == 200
    assert answer.json()["person_id"] == str(house.owner.person.uid)
    assert client.get("/rounds/").status_code == 200
    wrong = post(client, SIGN_IN, {**body, "pin": "294064"})
    assert is_problem(wrong, 400, "invalid")["code"] == "pin_wrong"


def test_only_a_tablet_in_service_may_ask(house: House, tablet: Enrolled) -> None:
    body = {"person_id": str(house.owner.person.uid), "pin": PIN}
    assert post(Client(), SIGN_IN, body).status_code == 401
    assert post(a_browser(house.owner), TRIES, {"tries": []}).status_code == 401
    stranger = a_morning("otherhall").owner
    body = {"person_id": str(stranger.person.uid), "pin": PIN}
    is_problem(post(a_tablet(tablet), SIGN_IN, body), 404, "unknown")
    foreign = a_tablet(tablet, enforce_csrf_checks=True).post(
        SIGN_IN, body, content_type="application/json"
    )
    is_problem(foreign, 403, "from_elsewhere")


def test_what_was_tried_without_us_is_kept_once_and_frees_and_rests_nobody(
    house: House, tablet: Enrolled
) -> None:
    person = str(house.owner.person.uid)
    told = [
        {"person_id": person, "at": f"2026-03-12T07:0{n}:00Z", "right": n == 5, "salt": "00" * 16}
        for n in range(6)
    ]
    client = a_tablet(tablet)
    assert post(client, TRIES, {"tries": told}).json() == {"kept": 6}
    assert post(client, TRIES, {"tries": told}).json() == {"kept": 0}
    assert SignInTry.objects.filter(told_by_tablet=True, device=tablet.device).count() == 6
    deeds = set(AuditEntry.objects.filter(deed__startswith="pin.").values_list("deed", flat=True))
    assert deeds == {"pin.wrong_on_tablet", "pin.old_on_tablet"}
    assert post(client, SIGN_IN, {"person_id": person, "pin": PIN}).status_code == 200
    assert is_problem(post(client, TRIES, {"tries": [{}]}), 400, "invalid")
