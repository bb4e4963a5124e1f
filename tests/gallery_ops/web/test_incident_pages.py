"""A card stamped at a desk, its timeline, the list of all, and the numbers to ring."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from gallery_ops.kernel import clock
from gallery_ops.kernel.models import AuditEntry, Showroom
from gallery_ops.kernel.values.uuid7 import uuid7
from gallery_ops.overview.emergency_pack import emergency_part
from maintenance.models import Incident, IncidentStep
from maintenance.services.incidents import (
    Emergency,
    Where,
    close_incident,
    open_incident,
    step_incident,
)
from tanks.services.publishing import give_public_code, publish_layout
from tests.builders.people import a_member
from tests.built_once import built_once
from tests.gallery_ops.web.pages.addresses import signed_in
from tests.maintenance.actions.saying import Morning, a_morning

built, m = built_once(a_morning)
pytestmark = pytest.mark.django_db
AT = datetime(2026, 3, 12, 8, 8, tzinfo=UTC)
CARD = "gasping"


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: AT)


def press(client: Client, deed: str, key: str = CARD, **more: str) -> str:
    """One press on the card as it stands; the page that follows."""
    address = reverse("emergency_card", args=[key])
    form = client.get(address, {"drill": "1"} if more.get("drill") else {}).content.decode()
    uid = re.search(r'name="incident" value="([^"]+)"', form)
    assert uid
    answer = client.post(address, {"incident": uid[1], "deed": deed, **more}, follow=True)
    assert answer.status_code == 200
    return answer.content.decode()


def words_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_the_first_press_opens_the_card_and_each_keeps_its_second(m: Morning) -> None:
    client = signed_in(m.carer)
    html = press(client, "line:2")
    assert "opened 08:08:00 by Bram Tolliver" in words_of(html)
    assert 'value="line:1" aria-pressed="false"' in html
    assert 'value="line:2" aria-pressed="true"' in html
    press(client, "place", place="tank:T01")
    press(client, "ring:01632 960 104")
    html = press(client, "write", text="Needle was open")
    assert "Giving and feeding, T01" in words_of(html)
    row = Incident.objects.get()
    assert (row.card, row.stops, row.tank) == (CARD, "tank", m.house.tanks["T01"])
    kinds = [step.kind for step in IncidentStep.objects.order_by("pk")]
    assert kinds == ["opened", "done", "place", "rung", "wrote"]


def test_a_second_person_is_told_who_opened_it_and_joins(m: Morning) -> None:
    press(signed_in(m.carer), "line:1")
    owner = signed_in(m.house.owner)
    card = owner.get(reverse("emergency_card", args=[CARD])).content.decode()
    assert "Bram Tolliver opened this 08:08." in words_of(card)
    assert "opened this" not in words_of(press(owner, "join"))
    assert Incident.objects.count() == 1


def test_a_second_card_beside_a_running_one_shows_both(m: Morning) -> None:
    client = signed_in(m.carer)
    press(client, "line:1")
    other = press(client, "line:1", key="water")
    assert "Animals gasping" in other.split("card-lines")[0]
    assert Incident.objects.count() == 2


def test_its_end_asks_for_a_name_and_what_was_typed_is_no_end(m: Morning) -> None:
    client = signed_in(m.carer)
    press(client, "line:1", key="gas")
    html = press(client, "over", key="gas", decided_by="")
    assert "competent person who measured and released the room" in words_of(html)
    assert Incident.objects.get().closed_at is None
    html = press(client, "over", key="gas", decided_by="Dr Alva Reed")
    assert "decided by Dr Alva Reed" in words_of(html)
    assert Incident.objects.get().decided_by == "Dr Alva Reed"


def test_a_drill_is_marked_everywhere_and_stops_nothing(m: Morning) -> None:
    client = signed_in(m.carer)
    html = press(client, "line:1", key="power", drill="1")
    assert "Drill:" in html
    assert "A drill stops nothing and calls nobody." in words_of(html)
    uid = Incident.objects.get().uid
    page = words_of(client.get(reverse("incident", args=[uid])).content.decode())
    assert "Drill: No power" in page
    assert "nothing rested and nobody was called" in page
    assert "Drill:" in words_of(client.get(reverse("incident_list")).content.decode())
    # The real card is not the drill.
    assert "opened 08:08" not in words_of(
        client.get(reverse("emergency_card", args=["power"])).content.decode()
    )


def test_the_timeline_tells_seconds_lateness_drift_and_what_rested(m: Morning) -> None:
    emergency, showroom = Emergency(uuid7(AT), CARD), m.house.showroom
    began = AT - timedelta(minutes=40)
    common: dict[str, Any] = {"showroom": showroom, "emergency": emergency, "by": m.carer}
    where = Where(tank=m.house.tanks["T01"])
    open_incident(**common, at=began, where=where)
    step_incident(
        **common, kind="done", line=2, at=AT, done_at=began + timedelta(minutes=9),
        done_at_corrected=began + timedelta(minutes=2, seconds=7), device=m.tablet,
    )  # fmt: skip
    close_incident(**common, at=began + timedelta(minutes=34), decided_by="Maud Ellerkamp")
    html = signed_in(m.carer).get(reverse("incident", args=[emergency.uid])).content.decode()
    text = words_of(html)
    assert "07:30:07 2. Gas of this tank off, by hand." in text
    assert "The tablet's clock said 07:37:00" in text
    assert "Entered late, Thu 08:08" in text
    assert "Over after 34 minutes, decided by Maud Ellerkamp." in text
    assert "Giving, feeding and routine tasks, T01: 34 minutes." in text
    assert re.search(r"<b>T01</b> [^<]*Feed", html)
    assert "T02" not in text


def test_a_line_can_be_added_afterwards_and_nothing_can_be_taken_away(m: Morning) -> None:
    emergency = Emergency(uuid7(AT), CARD)
    open_incident(showroom=m.house.showroom, emergency=emergency, by=m.carer, at=AT)
    address = reverse("incident", args=[emergency.uid])
    client = signed_in(m.carer)
    client.post(address, {"deed": "write", "text": "Count at 10: all there"})
    assert "Count at 10: all there" in client.get(address).content.decode()
    assert "elete" not in client.get(address).content.decode()


def test_a_visitor_sees_the_card_and_stamps_nothing(m: Morning) -> None:
    address = reverse("emergency_card", args=[CARD])
    html = Client().get(address).content.decode()
    assert "<form" not in html
    assert Client().post(address, {"deed": "line:1"}).status_code == 302
    guest = signed_in(a_member(m.house.owner, "guest_designer"))
    assert guest.post(address, {"deed": "line:1", "incident": str(uuid7(AT))}).status_code == 403
    assert not Incident.objects.exists()


@pytest.mark.parametrize("deed", ["line:9", "line:x", "burn", "place", ""])
def test_a_press_that_cannot_be_says_so(m: Morning, deed: str) -> None:
    html = press(signed_in(m.carer), deed, place="tank:T99")
    assert "There is no such" in words_of(html) or "no such step" in words_of(html)


def test_the_numbers_are_read_by_all_and_changed_by_a_manager(m: Morning) -> None:
    address = reverse("telephones")
    carer, owner = signed_in(m.carer), signed_in(m.house.owner)
    assert "Keep this list" not in carer.get(address).content.decode()
    typed = {
        "name": ["Iskra Vann", "", "Quayhead Gas"],
        "number": ["01632 960 117", "", "+44 1632 960104"],
        "what": ["manager", "", ""],
    }
    assert carer.post(address, typed).status_code == 403
    assert owner.post(address, typed).status_code == 302
    showroom = Showroom.objects.get(pk=m.house.showroom.pk)
    assert [row["name"] for row in showroom.telephones] == ["Iskra Vann", "Quayhead Gas"]
    assert "01632 960 117" in carer.get(address).content.decode()
    assert AuditEntry.objects.filter(deed="showroom.telephones").count() == 1


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (("Iskra", "ring me", ""), "Number: digits"),
        (("Iskra", "", ""), "Number: write it"),
        (("", "01632 960 117", ""), "Name: write whose"),
    ],
)
def test_a_number_that_cannot_be_dialled_is_said_and_what_was_typed_stays(
    m: Morning, row: tuple[str, str, str], words: str
) -> None:
    before = Showroom.objects.get(pk=m.house.showroom.pk).telephones
    typed = dict(zip(("name", "number", "what"), ([text] for text in row), strict=True))
    answer = signed_in(m.house.owner).post(reverse("telephones"), typed)
    html = answer.content.decode()
    assert answer.status_code == 422
    assert words in html
    assert all(f'value="{text}"' in html for text in row if text)
    assert Showroom.objects.get(pk=m.house.showroom.pk).telephones == before


def test_a_tablet_has_rooms_people_and_what_is_open(m: Morning) -> None:
    emergency = Emergency(uuid7(AT), CARD)
    where = Where(tank=m.house.tanks["T01"])
    open_incident(showroom=m.house.showroom, emergency=emergency, by=m.carer, at=AT, where=where)
    part = emergency_part(m.house.showroom, AT)
    assert part["ring"]["number"] == "112"
    assert [(room["name"], room["tanks"]) for room in part["rooms"]] == [
        ("North Room", ["T01", "T02"])
    ]
    (open_one,) = part["open"]
    assert (open_one["id"], open_one["card"]) == (str(emergency.uid), CARD)
    assert open_one["taps"][0]["place"] == {"kind": "tank", "key": "T01"}
    assert open_one["taps"][0]["by"] == "Bram Tolliver"


@pytest.mark.once
def test_queries_do_not_grow_with_emergencies(m: Morning) -> None:
    client = signed_in(m.carer)

    def queries() -> list[int]:
        uid = str(Incident.objects.latest("pk").uid)
        pages = [
            reverse("incident_list"),
            reverse("incident", args=[uid]),
            reverse("emergency_card", args=[CARD]),
        ]
        found = []
        for address in pages:
            with CaptureQueriesContext(connection) as seen:
                assert client.get(address).status_code == 200
            found.append(len(seen))
        return found

    def one() -> None:
        emergency = Emergency(uuid7(AT), CARD)
        where = Where(tank=m.house.tanks["T01"])
        open_incident(
            showroom=m.house.showroom, emergency=emergency, by=m.carer, at=AT, where=where
        )

    one()
    few = queries()
    for _ in range(9):
        one()
    assert queries() == few


def test_the_tanks_page_says_by_what_it_is_paused(m: Morning) -> None:
    client, address = signed_in(m.carer), reverse("tank_detail", args=["T01"])
    emergency = Emergency(uuid7(AT), CARD)
    where = Where(tank=m.house.tanks["T01"])
    open_incident(showroom=m.house.showroom, emergency=emergency, by=m.carer, at=AT, where=where)
    assert "Paused by Animals gasping, 08:08." in words_of(client.get(address).content.decode())
    other = client.get(reverse("tank_detail", args=["T02"])).content.decode()
    assert "Paused by" not in other
    board = client.get(reverse("day_board"))
    assert board.status_code == 200
    assert "Animals gasping at T01" in words_of(board.content.decode())


def test_a_visitor_reads_that_it_rests_and_no_word_of_alarm(m: Morning) -> None:
    tank = m.house.tanks["T01"]
    code = give_public_code(tank=tank, by=m.house.owner, at=AT).code
    address = reverse("public_tank", args=[code])
    layout = m.house.layouts["T01"]
    publish_layout(layout=layout, by=m.house.owner, at=AT, approved_on=date(2026, 3, 1))
    assert "Layout T01" in Client().get(address).content.decode()
    emergency, where = Emergency(uuid7(AT), CARD), Where(tank=tank)
    open_incident(showroom=m.house.showroom, emergency=emergency, by=m.carer, at=AT, where=where)
    text = words_of(Client().get(address).content.decode())
    assert "Layout T01" not in text
    assert not re.search(r"gasp|emergen|alarm|gas\b", text, re.IGNORECASE)
    close_incident(
        showroom=m.house.showroom, emergency=emergency, by=m.carer, at=AT, was_nothing=True
    )
    assert "Layout T01" in Client().get(address).content.decode()
