"""Who may see which page? Every page of the URL conf, every role, from one matrix."""

from __future__ import annotations

import time

import pytest
from django.test import Client

from gallery_ops.kernel import clock
from gallery_ops.kernel.models import Role
from gallery_ops.kernel.rights import MATRIX, RIGHTS
from tests.builders.fleet import a_fleet
from tests.builders.people import a_member
from tests.gallery_ops.web.pages.addresses import addresses, ask, named, signed_in

pytestmark = pytest.mark.django_db

OPEN_DOORS = {
    "drawing", "sign_in", "tile_sign_in", "sign_out", "first_run", "device_enrol", "choose_look",
    "public_enter", "public_tank", "public_photo", "first_minute", "first_minute_print",
    "emergency_card", "service_worker", "app_manifest", "no_network",
}  # fmt: skip
"""Pages for which nobody has to sign in: ways in, what visitors read, and what saves people."""


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


def test_every_page_is_behind_a_right_or_is_an_open_door_by_intent() -> None:
    without = {address.name for address in addresses() if address.right is None}
    assert without <= OPEN_DOORS, without - OPEN_DOORS
    assert {a.right for a in addresses() if a.right is not None} <= RIGHTS


@pytest.mark.parametrize("role", [role.value for role in Role])
def test_a_page_opens_for_those_who_have_its_right_and_tells_the_others_who_may(role: str) -> None:
    fleet = a_fleet(2, with_work=False)
    things = named(fleet.owner, fleet.tanks[0])
    member = fleet.owner if role == Role.OWNER else a_member(fleet.owner, role)
    seen = {}
    for address in addresses():
        if address.right is None or address.name in {"person_leave", "device_revoke"}:
            continue
        answer = ask(signed_in(member), address, things)
        seen[address.name] = answer.status_code == 403
        if answer.status_code == 403:
            assert "may" in answer.content.decode()
        else:
            assert answer.status_code in {200, 302, 422}, (address.name, answer.status_code)
    expected = {
        address.name: address.right not in MATRIX[role]
        for address in addresses()
        if address.name in seen
    }
    assert seen == expected


def test_the_last_deeds_are_refused_to_a_carer_too() -> None:
    fleet = a_fleet(2, with_work=False)
    things = named(fleet.owner, fleet.tanks[0])
    carer = signed_in(a_member(fleet.owner))
    last = [one for one in addresses() if one.name in {"person_leave", "device_revoke"}]
    assert [ask(carer, address, things).status_code for address in last] == [403, 403]


def test_whoever_is_not_signed_in_is_sent_to_sign_in_from_every_page_with_a_right() -> None:
    fleet = a_fleet(2, with_work=False)
    things = named(fleet.owner, fleet.tanks[0])
    for address in addresses():
        if address.right is None:
            continue
        answer = ask(Client(), address, things)
        assert answer.status_code == 302, address.name
        assert answer.headers["Location"].startswith("/sign-in/"), address.name
