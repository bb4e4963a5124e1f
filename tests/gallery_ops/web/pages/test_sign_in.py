"""The ways in: password, a tablet's code, tile and digits; and when they shut again."""

from __future__ import annotations

import time
from dataclasses import dataclass

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import translation

from gallery_ops.kernel import clock
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.services.pins import set_pin
from tests.builders.people import AT, a_member, a_showroom, an_owner
from tests.gallery_ops.api.asking import a_batch
from tests.gallery_ops.web.pages.addresses import signed_in

pytestmark = pytest.mark.django_db

PIN = "428193"
WRONG = "428194"


@dataclass
class House:
    """An owner, a carer with digits, and the gallery's clock."""

    owner: Membership
    carer: Membership
    patch: pytest.MonkeyPatch

    def at(self, clock_time: str) -> None:
        self.patch.setenv("GALLERY_OPS_CLOCK", f"2026-03-12T{clock_time}")
        self.patch.setattr(clock, "_started", time.monotonic())

    def code(self) -> str:
        words = signed_in(self.owner).post(reverse("device_list")).content.decode()
        return words.split('class="code">')[1].split("<")[0]

    def tablet(self) -> Client:
        tablet = Client()
        typed = {"code": self.code(), "name": "tablet of zone A"}
        assert tablet.post(reverse("device_enrol"), typed).status_code == 302
        return tablet

    def enter(self, tablet: Client, pin: str) -> int:
        typed = {"who": str(self.carer.person.uid), "pin": pin}
        return tablet.post(reverse("tile_sign_in"), typed).status_code


@pytest.fixture
def house(monkeypatch: pytest.MonkeyPatch) -> House:
    owner = an_owner(a_showroom())
    carer = a_member(owner, name="Bram Tolliver")
    set_pin(membership=carer, pin=PIN, by=owner, at=AT)
    made = House(owner, carer, monkeypatch)
    made.at("08:00")
    return made


def test_a_tablet_is_enrolled_once_by_one_code(house: House) -> None:
    code = house.code()
    typed = {"code": code, "name": "tablet of zone A"}
    first, second = Client(), Client()
    assert first.post(reverse("device_enrol"), typed).status_code == 302
    assert first.cookies["gallery_device"]["httponly"]
    answer = second.post(reverse("device_enrol"), typed)
    assert answer.status_code == 422
    assert "tablet of zone A" in answer.content.decode()
    assert "gallery_device" not in second.cookies


def test_a_code_holds_ten_minutes(house: House) -> None:
    code = house.code()
    house.at("08:11")
    typed = {"code": code, "name": "tablet of zone A"}
    assert Client().post(reverse("device_enrol"), typed).status_code == 422


def test_tile_and_digits_open_the_board_on_an_enrolled_tablet_only(house: House) -> None:
    tablet = house.tablet()
    assert "Bram Tolliver" in tablet.get(reverse("tile_sign_in")).content.decode()
    assert house.enter(tablet, WRONG) == 422
    assert house.enter(tablet, PIN) == 302
    assert tablet.get(reverse("day_board")).status_code == 200
    nowhere = Client()
    assert nowhere.get(reverse("tile_sign_in")).headers["Location"] == reverse("sign_in")
    assert house.enter(nowhere, PIN) == 302
    assert nowhere.get(reverse("day_board")).status_code == 302


def test_five_wrong_tries_shut_the_tile_also_for_the_right_digits(house: House) -> None:
    tablet = house.tablet()
    for _ in range(5):
        assert house.enter(tablet, WRONG) == 422
    assert house.enter(tablet, PIN) == 422
    assert tablet.get(reverse("day_board")).status_code == 302


def told(page: str, what: str) -> str:
    """What the page tells the script that sends what waits."""
    return page.split('id="waiting"')[1].split(f'data-{what}="')[1].split('"')[0]


def test_four_wrong_tries_do_not(house: House) -> None:
    tablet = house.tablet()
    for _ in range(4):
        house.enter(tablet, WRONG)
    assert house.enter(tablet, PIN) == 302


def test_ten_idle_minutes_lead_back_to_the_tiles_and_on_to_the_same_page(house: House) -> None:
    tablet = house.tablet()
    house.enter(tablet, PIN)
    house.at("08:09")
    assert tablet.get(reverse("tank_wall")).status_code == 200
    house.at("08:18")
    assert tablet.get(reverse("tank_wall")).status_code == 200
    house.at("08:29")
    answer = tablet.get(reverse("tank_wall"))
    assert answer.status_code == 302
    assert answer.headers["Location"] == f"{reverse('tile_sign_in')}?next=%2Ftanks%2F"
    assert tablet.get(reverse("tank_wall")).status_code == 302


def test_a_board_that_asks_again_by_itself_is_nobodys_hand(house: House) -> None:
    tablet = house.tablet()
    house.enter(tablet, PIN)
    for minute in ("03", "06", "09"):
        house.at(f"08:{minute}")
        assert tablet.get(reverse("day_board"), {"poll": "1"}).status_code == 200
    house.at("08:11")
    assert tablet.get(reverse("day_board"), {"poll": "1"}).status_code == 302


def test_every_page_of_a_tablet_knows_where_to_send_what_waits(house: House) -> None:
    tablet = house.tablet()
    tiles = tablet.get(reverse("tile_sign_in")).content.decode()
    assert told(tiles, "outbox") == f"{reverse('api_outbox')}?poll=1"
    assert "data-held=" not in tiles
    assert "js/parts/waiting.js" in tiles
    house.enter(tablet, PIN)
    for name in ("day_board", "round_list", "tank_wall"):
        page = tablet.get(reverse(name)).content.decode()
        assert told(page, "device") == told(tiles, "device")
        assert told(page, "held") == reverse("held_list")
        assert "js/parts/waiting.js" in page
    desk = signed_in(house.owner).get(reverse("day_board")).content.decode()
    assert 'id="waiting"' not in desk
    assert "js/parts/waiting.js" not in desk


def test_what_a_page_sends_by_itself_is_nobodys_hand(house: House) -> None:
    tablet = house.tablet()
    page = tablet.get(reverse("tile_sign_in")).content.decode()
    house.enter(tablet, PIN)
    for minute in ("03", "06", "09", "11"):
        house.at(f"08:{minute}")
        answer = tablet.post(
            told(page, "outbox"),
            a_batch(told(page, "device")),
            content_type="application/json",
            headers={"x-gallery-ops": "outbox"},
        )
        assert answer.status_code == 200
    assert tablet.get(reverse("day_board")).status_code == 302


def test_a_tablet_out_of_service_signs_nobody_in(house: House) -> None:
    tablet = house.tablet()
    house.enter(tablet, PIN)
    boss = signed_in(house.owner)
    page = boss.get(reverse("device_list")).content.decode()
    address = page.split('action="/tablets/')[1].split('"')[0]
    answer = boss.post(f"/tablets/{address}", follow=True)
    assert "tablet of zone A is out of service." in answer.content.decode()
    assert tablet.get(reverse("day_board")).status_code == 302
    assert house.enter(tablet, PIN) == 302
    assert tablet.get(reverse("day_board")).status_code == 302


def test_the_way_back_leads_nowhere_outside(house: House) -> None:
    tablet = house.tablet()
    typed = {"who": str(house.carer.person.uid), "pin": PIN, "next": "https://elsewhere.example/"}
    answer = tablet.post(reverse("tile_sign_in"), typed)
    assert answer.headers["Location"] == reverse("day_board")


@pytest.mark.parametrize(
    ("language", "name", "word"),
    [("en", "Erase last digit", "Erase"), ("de", "Löschen, letzte Ziffer", "Löschen")],
)
def test_the_key_that_erases_a_digit_says_so(
    house: House, language: str, name: str, word: str
) -> None:
    tablet = house.tablet()
    Showroom.objects.update(language=language)
    who = {"who": str(house.carer.person.uid)}
    with translation.override("en"):  # the page sets its own
        page = tablet.get(reverse("tile_sign_in"), who).content.decode()
    assert f'data-erase aria-label="{name}">{word}</button>' in page
