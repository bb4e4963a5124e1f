"""Can a tank be added and changed without a list, with a sentence for every wrong field?"""

from __future__ import annotations

import re
import time
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client

from gallery_ops.kernel import clock
from gallery_ops.kernel.models import AuditEntry, Showroom
from gallery_ops.kernel.services.people import add_person, make_showroom
from inventory.queries.plans import planned_for_day
from tanks.models import Tank
from tanks.queries.tanks import TankNow, fleet, tank_by_code

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 12, 9, 14, tzinfo=UTC)
GLASS = {"code": "T05", "length": "60", "width": "30", "height": "36", "glass": "6"}
PLANTED = GLASS | {
    "room": "North Room",
    "place": "N1",
    "zone": "A",
    "order": "7",
    "title": "Tithe Barn, Flooded",
    "designer": "Corvin Aldaye",
    "stage": "grow_in",
    "style": "stone",
    "dose": "3",
    "co2": "2,5",
    "food": "60 mg",
}


@pytest.fixture(autouse=True)
def at_09_14(monkeypatch: pytest.MonkeyPatch) -> None:
    """The clock begins anew in each test; else it runs on from the start of the whole run."""
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T09:14")
    monkeypatch.setattr(clock, "_started", time.monotonic())


@pytest.fixture
def showroom() -> Showroom:
    return make_showroom(
        code="undershore",
        name="Undershore",
        zone="Europe/London",
        currency="GBP",
        country="GB",
        at=AT - timedelta(days=30),
    )


@pytest.fixture
def desk(showroom: Showroom) -> Client:
    owner = add_person(
        showroom=showroom,
        login="maud",
        name="Maud Ellerkamp",
        role="owner",
        by=None,
        at=AT - timedelta(days=30),
    )
    client = Client()
    client.force_login(owner.person)
    return client


def now(showroom: Showroom) -> dict[str, TankNow]:
    return {tank.code: tank for tank in fleet(showroom, AT + timedelta(hours=8))}


def planned(showroom: Showroom) -> dict[str, int]:
    rows = planned_for_day(showroom, AT.date()).values()
    return {row.purpose: row.amount_base for row in rows}


def text_of(page: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.content.decode()))


def test_code_and_glass_are_enough(desk: Client, showroom: Showroom) -> None:
    assert desk.post("/tanks/add/", GLASS).status_code == 302
    tank = now(showroom)["T05"]
    assert (tank.tank.length_mm, tank.tank.glass_mm) == (600, 6)
    assert tank.layout is None
    assert tank.room_name == "Undershore"


def test_a_whole_tank_is_added_as_it_was_written(desk: Client, showroom: Showroom) -> None:
    assert desk.post("/tanks/add/", PLANTED).status_code == 302
    tank = now(showroom)["T05"]
    assert (tank.title, tank.stage, tank.room_name) == (
        "Tithe Barn, Flooded",
        "grow_in",
        "North Room",
    )
    assert tank.layout is not None
    assert (tank.layout.style, str(tank.layout.designer)) == ("stone", "Corvin Aldaye")
    assert planned(showroom) == {"dose": 3_000, "gas": 2_500, "food": 60}


def test_what_stands_is_shown_and_sent_back_unchanged_changes_nothing(
    desk: Client, showroom: Showroom
) -> None:
    desk.post("/tanks/add/", PLANTED)
    form = desk.get("/tanks/T05/change/").context["form"]
    shown = {field.name: field.value() or "" for field in form}
    assert (shown["length"], shown["dose"], shown["stage"]) == ("60", "3 mL", "grow_in")
    before = now(showroom)["T05"]
    assert desk.post("/tanks/T05/change/", shown).status_code == 302
    assert now(showroom)["T05"] == before
    assert Tank.objects.count() == 1


def test_a_tank_is_changed_renamed_and_moved(desk: Client, showroom: Showroom) -> None:
    desk.post("/tanks/add/", PLANTED)
    changed = PLANTED | {
        "code": "N5",
        "height": "40,5",
        "place": "N2",
        "dose": "2.5",
        "title": "Barn",
    }
    assert desk.post("/tanks/T05/change/", changed).status_code == 302
    tank = now(showroom)["N5"]
    assert (tank.tank.height_mm, tank.title) == (405, "Barn")
    assert tank.position is not None
    assert tank.position.name == "N2"
    assert planned(showroom)["dose"] == 2_500
    later = AT + timedelta(hours=8)
    assert tank_by_code(showroom, "T05", later).tank == tank.tank  # the old code still finds it


def test_vacant_closes_the_layout_and_its_plans(desk: Client, showroom: Showroom) -> None:
    desk.post("/tanks/add/", PLANTED)
    desk.post("/tanks/T05/change/", GLASS | {"stage": "vacant"})
    assert now(showroom)["T05"].layout is None
    assert planned(showroom) == {}


def test_a_stage_out_of_order_wants_a_reason(desk: Client, showroom: Showroom) -> None:
    desk.post("/tanks/add/", PLANTED)
    page = desk.post("/tanks/T05/change/", GLASS | {"stage": "start_up"})
    assert page.status_code == 422
    assert "Stage: Allowed: show, decline, teardown." in text_of(page)
    desk.post("/tanks/T05/change/", GLASS | {"stage": "start_up", "reason": "flooded anew"})
    assert now(showroom)["T05"].stage == "start_up"


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("length", "sixty", "“sixty”: Write a number, 10 to 500 cm."),
        ("length", "6000", "“6000”: Write a number, 10 to 500 cm."),
        ("length", "", "Length outside, cm: Empty. Write it: 10 to 500."),
        ("height", "1.000", "It could mean 1000 or 1"),
        ("glass", "200", "“200”: Write a number, 2 to 50 mm."),
        ("code", "T 05", "no spaces"),
        ("order", "first", "Write a whole number."),
        ("dose", "3 g", "Write a number, 0 to 1000 mL."),
        ("co2", "-1", "Write a number, 0 to 500 g."),
        ("stage", "", "choose the stage that it is in"),
    ],
)
def test_a_wrong_field_says_what_is_allowed_and_keeps_what_was_typed(
    desk: Client, field: str, typed: str, words: str
) -> None:
    page = desk.post("/tanks/add/", PLANTED | {field: typed})
    assert page.status_code == 422
    assert words in text_of(page)
    assert page.context["form"][field].value() == typed
    assert page.context["form"]["title"].value() == "Tithe Barn, Flooded"
    assert Tank.objects.count() == 0


def test_the_kind_of_glass_is_said_and_put_right_and_seen(desk: Client, showroom: Showroom) -> None:
    desk.post("/tanks/add/", GLASS)
    assert now(showroom)["T05"].tank.kind_of_glass == "float"
    assert "greenish at its edges" in text_of(desk.get("/tanks/T05/"))
    form = desk.get("/tanks/T05/change/").context["form"]
    assert form["kind_of_glass"].value() == "float"
    desk.post("/tanks/T05/change/", GLASS | {"kind_of_glass": "low_iron"})
    assert now(showroom)["T05"].tank.kind_of_glass == "low_iron"
    trail = AuditEntry.objects.filter(deed="tank.changed").get()
    assert (trail.before, trail.after) == (
        {"kind_of_glass": "float"}, {"kind_of_glass": "low_iron"},
    )  # fmt: skip
    page = text_of(desk.get("/tanks/T05/"))
    assert "low-iron: pale edges, and nearly no tint" in page
    desk.post("/tanks/T05/change/", GLASS)
    assert now(showroom)["T05"].tank.kind_of_glass == "low_iron", "left out it stays as it is"
    wrong = desk.post("/tanks/T05/change/", GLASS | {"kind_of_glass": "crystal"})
    assert wrong.status_code == 422
    assert "crystal" in text_of(wrong)
    desk.post("/tanks/add/", GLASS | {"code": "T06", "kind_of_glass": "low_iron"})
    assert now(showroom)["T06"].tank.kind_of_glass == "low_iron"


def test_a_code_and_a_place_that_are_taken_are_named(desk: Client) -> None:
    desk.post("/tanks/add/", PLANTED)
    page = desk.post("/tanks/add/", PLANTED | {"place": "N2"})
    assert "Another tank is called T05." in text_of(page)
    page = desk.post("/tanks/add/", PLANTED | {"code": "T06"})
    assert "T05 stands at “N1” in North Room. Move it first." in text_of(page)
    assert Tank.objects.count() == 1


def test_a_carer_may_not_and_a_stranger_finds_nothing(desk: Client, showroom: Showroom) -> None:
    desk.post("/tanks/add/", GLASS)
    other = make_showroom(
        code="farshore", name="Farshore", zone="Europe/London", currency="GBP", country="GB",
        at=AT - timedelta(days=30),
    )  # fmt: skip
    stranger = add_person(
        showroom=other,
        login="farold",
        name="Farold Wick",
        role="owner",
        by=None,
        at=AT - timedelta(days=30),
    )
    client = Client()
    client.force_login(stranger.person)
    assert client.get("/tanks/T05/change/").status_code == 404
    assert client.post("/tanks/T05/change/", GLASS).status_code == 404
    carer = add_person(
        showroom=other, login="pia", name="Pia Sandgrove", role="carer", by=stranger, at=AT
    )
    client.force_login(carer.person)
    assert client.post("/tanks/add/", GLASS).status_code == 403
    assert Tank.objects.count() == 1
