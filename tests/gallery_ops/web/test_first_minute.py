"""First minute: open to everybody, complete without script, private to nobody but staff.

What a card must say is the usual caution in such a place: common practice, no source. That nobody
follows into a room filled with carbon dioxide: HSE, general hazards of carbon dioxide
(hse.gov.uk/carboncapture/carbondioxide.htm).
"""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.services.people import add_person, make_showroom
from gallery_ops.overview.first_minute import pack_cards
from gallery_ops.overview.who import SHOWROOM_KEY
from maintenance.services.rota import plan_shift

pytestmark = pytest.mark.django_db
AT = datetime(2026, 3, 9, 5, 0, tzinfo=UTC)
KEYS = ["gas", "hurt", "water", "glass", "power", "gasping"]
ROWS = [
    "heater_on", "heater_off", "tap_water", "deaths", "wrong_dose", "ammonia", "spray", "escaped",
]  # fmt: skip
NUMBERS = [
    {"name": "Iskra Vann", "number": "01632 960 114", "what": "manager"},
    {"name": "Emergency services", "number": "112"},
]


def a_showroom(code: str = "undershore", **more: object) -> tuple[Showroom, Membership]:
    values: dict[str, object] = {"country": "GB", "telephones": NUMBERS, "address": "4 Cooper Lane"}
    showroom = make_showroom(
        code=code, name="Undershore", zone="Europe/London", currency="GBP", at=AT,
        **(values | more),  # type: ignore[arg-type]
    )  # fmt: skip
    owner = add_person(
        showroom=showroom, login=f"maud.{code}", name="Maud Ellerkamp", role="owner", by=None, at=AT
    )
    return showroom, owner


def signed_in(member: Membership) -> Client:
    client = Client()
    client.force_login(member.person, backend="django.contrib.auth.backends.ModelBackend")
    session = client.session
    session[SHOWROOM_KEY] = member.showroom_id
    session.save()
    return client


def page(client: Client, name: str, *args: str) -> str:
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == 200
    return answer.content.decode()


def words_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_every_card_opens_in_two_taps_without_sign_in() -> None:
    a_showroom()
    client = Client()
    picker = page(client, "first_minute")
    links = re.findall(r'class="fm-tile[^"]*" href="([^"]+)"', picker)
    assert links == [reverse("emergency_card", args=[key]) for key in KEYS]
    rows = re.findall(r'class="look" href="([^"]+)"', picker)
    assert rows == [reverse("emergency_card", args=[key]) for key in ROWS]
    for link in links + rows:
        assert client.get(link).status_code == 200


def test_people_first_and_the_first_act_stands_on_the_picker() -> None:
    a_showroom()
    picker = page(Client(), "first_minute")
    tiles = re.findall(r'class="(fm-tile(?: [^"]*)?)"', picker)
    assert tiles == ["fm-tile fm-people"] * 2 + ["fm-tile"] * 4
    text = words_of(picker)
    assert "Everybody out. Do not go in." in text
    assert "Power off before you touch." in text


@pytest.mark.parametrize("key", KEYS + ROWS)
def test_a_card_is_complete_without_script_and_says_what_it_cannot_do(key: str) -> None:
    a_showroom()
    html = page(Client(), "emergency_card", key)
    text = words_of(html)
    assert 1 <= html.count('class="ct"') <= 7
    assert "<script" not in html
    assert "It shows this card and has stopped nothing. It cannot" in text
    assert "it has told nobody. Ring." in text
    assert "Local rules and trained people decide" in text
    assert "{emergency_number}" not in text
    assert not re.search(r"\bsafe", text, re.IGNORECASE)
    assert 'href="tel:112"' in html


def test_names_and_numbers_of_people_are_for_staff_only() -> None:
    showroom, owner = a_showroom()
    plan_shift(
        showroom=showroom,
        person=owner.person,
        from_at=AT,
        to_at=AT.replace(hour=20),
        by=owner,
        at=AT,
    )
    for name, args in (
        ("first_minute", ()),
        ("emergency_card", ("gas",)),
        ("first_minute_print", ()),
    ):
        outside = page(Client(), name, *args)
        inside = page(signed_in(owner), name, *args)
        for private in ("Iskra Vann", "01632 960 114"):
            assert private not in outside
            assert private in inside
        assert "Maud Ellerkamp" not in outside


def test_who_is_at_work_by_the_rota_is_named_to_staff(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-09T08:06")
    showroom, owner = a_showroom()
    plan_shift(
        showroom=showroom,
        person=owner.person,
        from_at=AT,
        to_at=AT.replace(hour=20),
        by=owner,
        at=AT,
    )
    assert "At work now" in words_of(page(signed_in(owner), "emergency_card", "gas"))
    assert "At work now" not in words_of(page(Client(), "emergency_card", "gas"))


def test_a_guest_designer_sees_the_cards_and_no_list_of_numbers() -> None:
    showroom, owner = a_showroom()
    guest = add_person(
        showroom=showroom,
        login="corvin",
        name="Corvin Aldaye",
        role="guest_designer",
        by=owner,
        at=AT,
    )
    html = page(signed_in(guest), "emergency_card", "gas")
    assert "Do not go in." in html
    assert "01632 960 114" not in html


def test_another_showroom_shows_nothing_of_this_one() -> None:
    a_showroom()
    _other, stranger = a_showroom("quayside", country="DE", telephones=[], address="Kai 3")
    html = page(signed_in(stranger), "emergency_card", "gas")
    assert "4 Cooper Lane" not in html
    assert "01632" not in html
    # Two galleries in one house: without signing in it is nobody's address.
    outside = page(Client(), "emergency_card", "gas")
    assert "4 Cooper Lane" not in outside
    assert "Kai 3" not in outside


def test_the_number_follows_the_country_and_an_unknown_one_is_said_in_words() -> None:
    _showroom, owner = a_showroom("harbour", country="US", telephones=[])
    assert "Ring 911: carbon dioxide." in words_of(page(signed_in(owner), "emergency_card", "gas"))
    _showroom, owner = a_showroom("island", country="IS", telephones=[])
    text = words_of(page(signed_in(owner), "emergency_card", "gas"))
    assert "Ring the emergency number: carbon dioxide." in text
    assert "that of this country" in text


def test_a_german_gallery_reads_german_cards() -> None:
    _showroom, owner = a_showroom(language="de")
    html = page(signed_in(owner), "emergency_card", "gas")
    assert "Nicht hineingehen. Alle herausrufen." in html
    assert '<ol class="card-lines" lang="de">' in html


def test_before_the_first_showroom_the_cards_are_there_already() -> None:
    assert "Do not go in." in page(Client(), "emergency_card", "gas")


def test_an_unknown_card_is_not_found() -> None:
    a_showroom()
    assert Client().get("/first-minute/unheard-of/").status_code == 404


def test_the_sheets_for_the_wall_hold_every_card() -> None:
    a_showroom()
    html = page(Client(), "first_minute_print")
    assert html.count('class="card-sheet"') == 14
    assert html.count("<h2 ") == 14
    assert "closes no valve and tells nobody" in html
    one = Client().get(reverse("first_minute_print"), {"card": "ammonia"}).content.decode()
    assert one.count('class="card-sheet"') == 1
    assert "Ammonia in the water" in one


def test_telephone_lists_that_are_not_as_they_should_be_break_no_card() -> None:
    _showroom, owner = a_showroom(telephones=["112", {"name": "Sefa"}, {"number": "+44 1632 1"}])
    html = page(signed_in(owner), "emergency_card", "gas")
    assert 'href="tel:+4416321"' in html
    assert "Sefa" not in html


def test_the_cards_of_a_round_pack_fit_its_schema() -> None:
    showroom, _owner = a_showroom()
    packed = pack_cards(showroom, "en")
    assert [card["code"] for card in packed] == KEYS + ROWS
    for card in packed:
        assert {"code", "title", "first", "lines", "address", "stops", "cannot"} <= set(card)
        assert len(card["lines"]) <= 7  # type: ignore[arg-type]
        assert card["address"] == "Undershore, 4 Cooper Lane"


@pytest.mark.once
def test_queries_do_not_grow_with_the_list_of_numbers() -> None:
    def queries(code: str, count: int) -> int:
        numbers = [{"name": f"N{n}", "number": f"01632 960 {n:03}"} for n in range(count)]
        client = signed_in(a_showroom(code, telephones=numbers)[1])
        with CaptureQueriesContext(connection) as seen:
            assert f"N{count - 1}" in page(client, "first_minute")
        return len(seen)

    assert queries("one", 1) == queries("many", 60)
